package findtest

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// maker puts a made mechanism together: shells by part, joints, and the taste
// of the model, which its parts share.
type maker struct {
	r      *rand.Rand
	m      Mechanism
	shells [][]*mesh.Mesh
	mirror bool                  // what is added is mirrored in y
	shape  shape                 // how often a joint shows what
	suffix string                // of the names in the making
	room   func(out r3.Vec) bool // whether a limb may lead on that way, nil: any

	facets  int      // of a circle
	edge    float64  // of rounded edges, as a share of the radius
	steps   int      // of those edges
	loose   bool     // bolts and badges are parts of their own
	busy    int      // features without a meaning on every body
	deep    bool     // housings reach into one another
	plainly []string // the parts' names without suffix: parts of one name are alike
	hulled  float64  // share of the parts that are only a hull
	shows   []bool   // by joint and side, parent's first: whether the part shows it
}

// shape is the share of each class among the hinges.
type shape struct{ one, turned, nothing float64 }

// trade is what the joints of the trade show.
func trade() shape { return shape{one: 0.2, turned: 0.045, nothing: 0.06} }

func newMaker(name string, seed uint64) *maker {
	g := &maker{r: source(seed, 11), m: Mechanism{Name: fmt.Sprintf("%s %d", name, seed)}, shape: trade()}
	g.facets = []int{8, 12, 16, 24, 24, 32, 48, 64}[g.r.IntN(8)]
	g.edge = g.pick(0, 0, 0.04, 0.1)
	g.steps = 1 + g.r.IntN(4)
	g.loose = g.chance(0.25)
	g.busy = g.r.IntN(3) * g.r.IntN(4)
	g.deep = g.chance(0.25)
	g.hulled = g.pick(0, 0, 0.15, 0.3)
	return g
}

func (g *maker) pick(v ...float64) float64        { return v[g.r.IntN(len(v))] }
func (g *maker) between(a, b float64) float64     { return a + (b-a)*g.r.Float64() }
func (g *maker) chance(p float64) bool            { return g.r.Float64() < p }
func (g *maker) lathe(p []Point) *mesh.Mesh       { return Lathe(p, g.around(), g.pick(0, 0, 0.1)) }
func (g *maker) rod(r, z0, z1 float64) *mesh.Mesh { return g.lathe(g.rodProfile(r, z0, z1)) }
func (g *maker) around() int                      { return g.facets * (1 + g.r.IntN(2)) }
func (g *maker) hole(x, y, r float64) Hole        { return Hole{X: x, Y: y, R: r, N: max(8, g.facets/2)} }

func box(x0, y0, z0, x1, y1, z1 float64) *mesh.Mesh {
	return Extrude(Rounded(x0, y0, x1, y1, 0, 1), nil, z0, z1)
}

// rodProfile is a rod with the model's edges, sharp where it is short.
func (g *maker) rodProfile(r, z0, z1 float64) []Point {
	edge := g.edge * r
	if edge > 0.3*(z1-z0) {
		edge = 0
	}
	return Rod(r, z0, z1, edge, g.steps)
}

// tube is a rod with a bore.
func (g *maker) tube(inner, outer, z0, z1 float64) *mesh.Mesh {
	p := g.rodProfile(outer, z0, z1)
	p[0].X, p[len(p)-1].X = inner, inner
	return g.lathe(p)
}

// slab is a box with round edges along z.
func (g *maker) slab(x0, y0, z0, x1, y1, z1 float64) *mesh.Mesh {
	r := g.pick(0, 0, 0.1, 0.2) * min(x1-x0, y1-y0)
	return Extrude(Rounded(x0, y0, x1, y1, r, 1+g.r.IntN(4)), nil, z0, z1)
}

// part starts a part and returns its index.
func (g *maker) part(name string) int {
	g.m.Parts = append(g.m.Parts, mesh.Part{Name: name + g.suffix})
	g.plainly = append(g.plainly, name)
	g.shells = append(g.shells, nil)
	return len(g.shells) - 1
}

// add puts shells into a part, moved by x.
func (g *maker) add(part int, x mesh.Rigid, shells ...*mesh.Mesh) {
	for _, s := range shells {
		s = mesh.Moved(s, x)
		if g.mirror {
			s = mirrored(s)
		}
		g.shells[part] = append(g.shells[part], s)
	}
}

// joint adds a joint whose axis is the z axis of x.
func (g *maker) joint(name string, parent, child int, x mesh.Rigid, f fitting) int {
	j := Joint{
		Name: name + g.suffix, Parent: parent, Child: child, Kind: f.kind, Origin: x.T, Axis: x.Z, Pitch: f.pitch,
		Lower: f.lower, Upper: f.upper, Scorable: true, Class: f.class, Radius: f.radius,
	}
	if g.mirror {
		j.Origin.Y, j.Axis.Y = -j.Origin.Y, -j.Axis.Y
		j.Lower, j.Upper = -j.Upper, -j.Lower // a mirrored turn about a mirrored axis runs backward
		if j.Kind == "prismatic" {
			j.Lower, j.Upper = -j.Upper, -j.Lower
		}
	}
	g.m.Joints = append(g.m.Joints, j)
	g.shows = append(g.shows, f.hidden != 1, f.hidden != 2)
	return len(g.m.Joints) - 1
}

// mirrored is the mesh mirrored in y, its faces turned so that they look
// outward again.
func mirrored(m *mesh.Mesh) *mesh.Mesh {
	at := slices.Clone(m.Vertices())
	for i := range at {
		at[i].Y = -at[i].Y
	}
	faces := make([][]int32, m.NumPolygons())
	for i := range faces {
		faces[i] = slices.Clone(m.Polygon(i))
		slices.Reverse(faces[i])
	}
	return built(at, faces)
}

// done joins the shells of every part. Some parts, and all like them, become
// their hull where that leaves every joint one side.
func (g *maker) done() Mechanism {
	chosen := map[string]bool{}
	for i, name := range g.plainly {
		x := mesh.Join(g.shells[i]...)
		if _, drawn := chosen[name]; !drawn {
			chosen[name] = i > 0 && g.chance(g.hulled)
		}
		if chosen[name] && g.hull(i) {
			x = Hull(x.Vertices())
		}
		g.m.Parts[i].Mesh = x
	}
	return g.m
}

// hull reports whether a part may become a hull, and notes what its joints then
// show.
func (g *maker) hull(part int) bool {
	var lost []int
	for i, j := range g.m.Joints {
		for side, p := range []int{j.Parent, j.Child} {
			switch {
			case p != part || !g.shows[2*i+side]:
			case j.Class != BothSides || !g.shows[2*i+1-side]:
				return false
			default:
				lost = append(lost, 2*i+side)
			}
		}
	}
	for _, k := range lost {
		g.shows[k] = false
		g.m.Joints[k/2].Class = OneSide
	}
	return len(lost) > 0
}

// class draws how much a hinge shows.
func (g *maker) class() Class {
	x := g.r.Float64()
	for _, c := range []struct {
		share float64
		class Class
	}{{g.shape.one, OneSide}, {g.shape.turned, TurnedSet}, {g.shape.nothing, Nothing}} {
		if x < c.share {
			return c.class
		}
		x -= c.share
	}
	return BothSides
}

// lump is the hull of random points in a box.
func (g *maker) lump(lo, hi r3.Vec, n int) *mesh.Mesh {
	for {
		p := make([]r3.Vec, n)
		for i := range p {
			p[i] = r3.Vec{X: g.between(lo.X, hi.X), Y: g.between(lo.Y, hi.Y), Z: g.between(lo.Z, hi.Z)}
		}
		if h := Hull(p); h != nil {
			return h
		}
	}
}
