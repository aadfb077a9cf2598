package find

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
)

// grower grows surfaces over neighbouring triangles: a shape guessed from a few
// of them, fitted, and grown by what lies on it.
type grower struct {
	*looker
	taken, tried        []bool // triangles of a surface, and those looked at
	triStamp, vertStamp []int32
	stamp               int32
}

const (
	growNear   = 24                 // triangles that a guess is read from
	growMost   = 600                // the same on a surface that hardly turns
	growTurn   = 25 * math.Pi / 180 // that is enough
	growFirst  = 500                // triangles of the first pass, eight times as many in the next
	growSeeds  = 1500               // guesses of a part at most
	growLean   = 60 * math.Pi / 180 // of a facet from the surface's normal
	growOff    = 3e-3               // of the radius, of a vertex from the surface
	growSigmas = 4                  // the same, in standard deviations of the noise
	growSample = 240                // vertices that are fitted
	growRMS    = 0.4                // of the most that a vertex may be off; vertices of another surface make 0.6
	likelyOff  = 0.03               // of the radius, of a vertex from the guess
)

func newGrower(k *looker) *grower {
	n := len(k.top.TriEdges)
	return &grower{looker: k, taken: make([]bool, n), tried: make([]bool, n), triStamp: make([]int32, n), vertStamp: make([]int32, len(k.mesh.Vertices()))}
}

// each offers triangles as seeds, by falling area, and clears what was tried.
func (g *grower) each(try func(t int32)) error {
	clear(g.tried)
	tries := 0
	for i, t := range g.order {
		if i%lookStride == 0 && g.ctx.Err() != nil {
			return g.ctx.Err()
		}
		if g.taken[t] || g.tried[t] || g.plain[t] {
			continue
		}
		if tries++; tries > growSeeds {
			break
		}
		try(t)
		if err := g.ctx.Err(); err != nil {
			return err
		}
	}
	return nil
}

// byArea lists the triangles by falling area.
func (k *looker) byArea() []int32 {
	area := make([]float64, len(k.top.TriEdges))
	order := make([]int32, len(area))
	for t := range area {
		area[t], order[t] = r3.Norm2(k.mesh.AreaNormal(t)), int32(t)
	}
	slices.SortStableFunc(order, func(a, b int32) int { return cmp.Compare(area[b], area[a]) })
	return order
}

// around returns triangles round t over edges bent by at most bend: growNear of
// them, or more until the surface has turned enough to be told from a flat one.
// They count as tried.
func (g *grower) around(t int32, bend float64) []int32 {
	g.stamp++
	g.triStamp[t] = g.stamp
	near := []int32{t}
	first, turned := g.mesh.AreaNormal(int(t)), 0.0
	for i := 0; i < len(near) && (len(near) < growNear || len(near) < growMost && turned < growTurn); i++ {
		for _, e := range g.top.TriEdges[near[i]] {
			u := g.top.Opposite(int(near[i]), int(e))
			if u < 0 || g.triStamp[u] == g.stamp || g.taken[u] || !(math.Abs(g.top.Dihedral(int(e))) <= bend) {
				continue
			}
			g.triStamp[u] = g.stamp
			near = append(near, int32(u))
			turned = max(turned, angle(first, g.mesh.AreaNormal(u)))
		}
	}
	for _, u := range near {
		g.tried[u] = true
	}
	return near
}

// surface is a grown shape.
type surface struct {
	fit.Datum
	tris   []int32
	points []r3.Vec
	inside bool // the material is outside, as of a bore or a socket
}

// from grows the surface that guess reads from a few triangles; it is false
// where that has fewer than least vertices.
func (g *grower) from(near []int32, bend float64, least int, guess func(near []int32) (fit.Datum, bool)) (surface, bool) {
	d, ok := guess(near)
	if !ok || !g.likely(d, near) {
		return surface{}, false
	}
	s := surface{Datum: d}
	const passes = 5
	settled := false
	for pass := range passes {
		most := growFirst << (3 * pass)
		if pass == passes-1 || settled {
			most = math.MaxInt
		}
		s.tris, s.inside = g.grow(near, s.Datum, bend, most)
		s.points = g.vertsOf(s.tris)
		if len(s.points) < least {
			return surface{}, false
		}
		if pass == passes-1 || settled {
			break
		}
		e, err := fit.Fit(s.Kind, thin(s.points, growSample), fit.Options{Start: &s.Datum})
		if err != nil || !(e.Radius < g.size) {
			return surface{}, false
		}
		settled = len(s.tris) < most && lineAngle(s.Axis, e.Axis) < 1e-4 && math.Abs(s.Radius-e.Radius) < 1e-4*e.Radius
		s.Datum = e
	}
	for _, u := range s.tris {
		g.tried[u] = true
	}
	return s, s.RMS <= growRMS*g.off(s.Radius) && growSigmas*g.sigma <= mostNoise*s.Radius
}

// off is how far a vertex may be from a surface of that radius.
func (g *grower) off(radius float64) float64 { return growOff*radius + growSigmas*g.sigma }

// take keeps the surface's triangles from being part of another.
func (g *grower) take(s surface) {
	for _, u := range s.tris {
		g.taken[u] = true
	}
}

// likely reports whether most vertices of the guess are about on it.
func (g *grower) likely(d fit.Datum, near []int32) bool {
	on, all := 0, 0
	for _, p := range g.vertsOf(near) {
		all++
		if math.Abs(d.Distance(p)) < likelyOff*d.Radius+growSigmas*g.sigma {
			on++
		}
	}
	return float64(on) > 0.7*float64(all)
}

// skin is the neighbourhood of a cylinder or a sphere; it spares roots, as
// growing asks it of every triangle.
type skin struct {
	origin, axis r3.Vec // no axis: a sphere
	least, most  float64
}

func newSkin(d fit.Datum, off float64) skin {
	in := max(d.Radius-off, 0)
	return skin{origin: d.Origin, axis: d.Axis, least: in * in, most: (d.Radius + off) * (d.Radius + off)}
}

// radial is p's offset from the axis or the centre.
func (s *skin) radial(p r3.Vec) r3.Vec {
	q := r3.Sub(p, s.origin)
	return r3.Sub(q, r3.Scale(r3.Dot(q, s.axis), s.axis))
}

func (s *skin) has(p r3.Vec) bool {
	r2 := r3.Norm2(s.radial(p))
	return s.least <= r2 && r2 <= s.most
}

// faces reports whether a triangle with that middle and normal faces outward,
// or inward where out is negative, within growLean.
func (s *skin) faces(mid, normal r3.Vec, out float64) bool {
	r := s.radial(mid)
	dot := r3.Dot(normal, r)
	cos := math.Cos(growLean)
	return dot*out > 0 && dot*dot > cos*cos*r3.Norm2(normal)*r3.Norm2(r)
}

// grow returns at least most of the triangles that lie on the surface, if it
// has as many, from those given on, and whether they face inward.
func (g *grower) grow(near []int32, d fit.Datum, bend float64, most int) (set []int32, inside bool) {
	g.stamp++
	skin := newSkin(d, g.off(d.Radius))
	out := 0.0
	for _, t := range near {
		out += r3.Dot(g.mesh.AreaNormal(int(t)), skin.radial(centre(g.mesh, int(t))))
	}
	on := func(t int32) bool {
		a, b, c := g.mesh.Corners(int(t))
		return skin.has(a) && skin.has(b) && skin.has(c) && skin.faces(r3.Scale(1./3, r3.Add(a, r3.Add(b, c))), g.mesh.AreaNormal(int(t)), out)
	}
	for _, t := range near {
		g.triStamp[t] = g.stamp
		if on(t) {
			set = append(set, t)
		}
	}
	for i := 0; i < len(set) && len(set) < most; i++ {
		for _, e := range g.top.TriEdges[set[i]] {
			u := g.top.Opposite(int(set[i]), int(e))
			if u < 0 || g.triStamp[u] == g.stamp || g.taken[u] || !(math.Abs(g.top.Dihedral(int(e))) <= bend+growLean/2) {
				continue
			}
			g.triStamp[u] = g.stamp
			if on(int32(u)) {
				set = append(set, int32(u))
			}
		}
	}
	return set, out < 0
}

// vertsOf returns the vertices of triangles, each once.
func (g *grower) vertsOf(tris []int32) []r3.Vec {
	g.stamp++
	var out []r3.Vec
	for _, t := range tris {
		for _, v := range g.mesh.Triangles()[t] {
			if g.vertStamp[v] != g.stamp {
				g.vertStamp[v] = g.stamp
				out = append(out, g.mesh.Vertices()[v])
			}
		}
	}
	return out
}
