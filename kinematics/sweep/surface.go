package sweep

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// cutAngle turns the half plane that angles count from away from directions
// that models favour, so that faces seldom lie in it. Any odd value does.
const cutAngle = 0.7390851332151607

// frame is a cylindrical frame: z along the hinge, angles counter-clockwise
// about it from x. A straight one stands for a hinge infinitely far away: y is
// the way of a slider, x the direction toward the hinge's far side, and what
// would be an angle is a length along y that is scaled so that all of it stays
// well within one turn.
type frame struct {
	origin   r3.Vec
	x, y, z  r3.Vec
	straight bool
	scale    float64 // of a straight frame: radians per model unit
	from     float64 // of a straight frame: where along y the motion begins
}

// arm returns the way per radian at radius r.
func (f *frame) arm(r float64) float64 {
	if f.straight {
		return 1 / f.scale
	}
	return r
}

func newFrame(a kinematics.Axis) *frame {
	x := kinematics.Perpendicular(a.Dir)
	y := r3.Cross(a.Dir, x)
	sin, cos := math.Sincos(cutAngle)
	x, y = r3.Add(r3.Scale(cos, x), r3.Scale(sin, y)), r3.Sub(r3.Scale(cos, y), r3.Scale(sin, x))
	return &frame{origin: a.Point, x: x, y: y, z: a.Dir}
}

func (f *frame) local(p r3.Vec) r3.Vec {
	d := r3.Sub(p, f.origin)
	q := r3.Vec{X: r3.Dot(d, f.x), Y: r3.Dot(d, f.y), Z: r3.Dot(d, f.z)}
	if f.straight {
		q.Y = math.Pi + q.Y*f.scale
	}
	return q
}

// model returns the point at radius r, angle a and height z.
func (f *frame) model(r, a, z float64) r3.Vec {
	p := r3.Add(f.origin, r3.Scale(z, f.z))
	if f.straight {
		return r3.Add(p, r3.Add(r3.Scale(r, f.x), r3.Scale(f.from+(a-math.Pi)/f.scale, f.y)))
	}
	sin, cos := math.Sincos(a)
	return r3.Add(p, r3.Add(r3.Scale(r*cos, f.x), r3.Scale(r*sin, f.y)))
}

// surface is what moves, in the frame of the hinge.
type surface struct {
	*frame
	p       []r3.Vec
	tris    [][3]int32
	shell   []int32 // of each triangle
	open    []bool  // of each shell: its faces do not close, so it is a sheet
	numOpen int

	rMin, rMax []float64 // of each triangle
	rLo, rHi   float64
	zLo, zHi   float64
}

// newSurface gathers the bodies. It fails when there is nothing to sweep.
func newSurface(bodies []*mesh.Mesh, f *frame) (*surface, error) {
	s := &surface{frame: f}
	for i, b := range bodies {
		if b == nil {
			return nil, fmt.Errorf("body %d is missing", i)
		}
		s.add(b)
	}
	if len(s.tris) == 0 {
		return nil, fmt.Errorf("the moving part has no faces")
	}
	s.zLo, s.zHi = math.Inf(1), math.Inf(-1)
	for _, p := range s.p {
		s.zLo, s.zHi = min(s.zLo, p.Z), max(s.zHi, p.Z)
	}
	// Heights count from the middle: the axis may be given by a far point.
	mid := s.zLo + (s.zHi-s.zLo)/2
	f.origin = r3.Add(f.origin, r3.Scale(mid, f.z))
	for i := range s.p {
		s.p[i].Z -= mid
	}
	s.zLo, s.zHi = s.zLo-mid, s.zHi-mid
	s.rLo = math.Inf(1)
	s.rMin, s.rMax = make([]float64, len(s.tris)), make([]float64, len(s.tris))
	for t := range s.tris {
		s.rMin[t], s.rMax[t] = s.radii(t)
		s.rLo, s.rHi = min(s.rLo, s.rMin[t]), max(s.rHi, s.rMax[t])
	}
	if math.IsNaN(s.rHi) || math.IsInf(s.rHi, 0) || math.IsInf(s.zHi-s.zLo, 0) {
		return nil, fmt.Errorf("the moving part lies too far from the hinge to be swept")
	}
	return s, nil
}

// add appends a body, turned right way out if it encloses a negative volume.
func (s *surface) add(b *mesh.Mesh) {
	base := int32(len(s.p))
	for _, p := range b.Vertices() {
		s.p = append(s.p, s.local(p))
	}
	inside := b.Volume() < 0
	label, n := b.Topology().Shells()
	first := int32(len(s.open))
	s.open = append(s.open, openShells(b, label, n)...)
	for _, o := range s.open[first:] {
		if o {
			s.numOpen++
		}
	}
	for t, v := range b.Triangles() {
		if inside {
			v[1], v[2] = v[2], v[1]
		}
		s.tris = append(s.tris, [3]int32{base + v[0], base + v[1], base + v[2]})
		s.shell = append(s.shell, first+label[t])
	}
}

// openShells tells which shells enclose nothing: those with an edge along
// which as many faces do not run one way as the other. All other shells cut
// every plane in closed curves, also where more than two faces share an edge.
func openShells(b *mesh.Mesh, label []int32, n int) []bool {
	t := b.Topology()
	balance := make([]int32, len(t.EdgeVerts))
	tris := b.Triangles()
	for i, e := range t.TriEdges {
		for k := range 3 {
			if tris[i][k] == t.EdgeVerts[e[k]][0] {
				balance[e[k]]++
			} else {
				balance[e[k]]--
			}
		}
	}
	open := make([]bool, n)
	for i, e := range t.TriEdges {
		for k := range 3 {
			if balance[e[k]] != 0 {
				open[label[i]] = true
			}
		}
	}
	return open
}

// radii returns the least and largest distance of triangle t from the hinge.
func (s *surface) radii(t int) (lo, hi float64) {
	v := s.tris[t]
	if s.straight {
		a, b, c := s.p[v[0]].X, s.p[v[1]].X, s.p[v[2]].X
		return min(a, b, c), max(a, b, c)
	}
	lo = math.Inf(1)
	var left, right int
	for k := range 3 {
		a, b := s.p[v[k]], s.p[v[(k+1)%3]]
		hi = max(hi, math.Hypot(a.X, a.Y))
		dx, dy := b.X-a.X, b.Y-a.Y
		u := 0.0
		if l := dx*dx + dy*dy; l > 0 {
			u = max(0, min(1, -(a.X*dx+a.Y*dy)/l))
		}
		lo = min(lo, math.Hypot(a.X+u*dx, a.Y+u*dy))
		switch side := a.X*b.Y - a.Y*b.X; {
		case side > 0:
			left++
		case side < 0:
			right++
		}
	}
	if left == 3 || right == 3 {
		lo = 0
	}
	return lo, hi
}

// closed tells whether triangle t bounds material.
func (s *surface) closed(t int32) bool { return !s.open[s.shell[t]] }

// segment is where a plane across the hinge cuts a triangle: from p to q with
// the material on the left, seen against the hinge's direction.
type segment struct {
	px, py, qx, qy float64
	p2, q2         float64 // squared distances from the hinge; plain in a straight frame
	tri            int32
	closed         bool
	straight       bool
}

// cut returns the segment of triangle t at height z. Neighbours share the end
// points of their segments to the bit, because a point depends on the mesh
// edge alone; a vertex at z counts as above.
func (s *surface) cut(t int32, z float64) (segment, bool) {
	v := s.tris[t]
	var above [3]bool
	n := 0
	for k := range 3 {
		if above[k] = s.p[v[k]].Z >= z; above[k] {
			n++
		}
	}
	if n == 0 || n == 3 {
		return segment{}, false
	}
	g := segment{tri: t, closed: s.closed(t), straight: s.straight}
	for k := range 3 {
		l := (k + 1) % 3
		switch {
		case above[k] && !above[l]:
			g.px, g.py = s.edgeAt(v[k], v[l], z)
		case !above[k] && above[l]:
			g.qx, g.qy = s.edgeAt(v[k], v[l], z)
		}
	}
	if s.straight {
		g.p2, g.q2 = g.px, g.qx
		return g, true
	}
	g.p2 = squared(g.px, g.py)
	g.q2 = squared(g.qx, g.qy)
	return g, true
}

func squared(x, y float64) float64 { return float64(x*x) + float64(y*y) }

// edgeAt returns the point at height z of the mesh edge between two vertices,
// the same for both orders.
func (s *surface) edgeAt(i, j int32, z float64) (x, y float64) {
	if i > j {
		i, j = j, i
	}
	a, b := s.p[i], s.p[j]
	u := (z - a.Z) / (b.Z - a.Z)
	return a.X + float64(u*(b.X-a.X)), a.Y + float64(u*(b.Y-a.Y))
}

// radii returns the least and largest distance of the segment from the hinge.
func (g *segment) radii() (lo, hi float64) {
	lo2, hi2 := min(g.p2, g.q2), max(g.p2, g.q2)
	if g.straight {
		return lo2, hi2
	}
	dx, dy := g.qx-g.px, g.qy-g.py
	if u := -(g.px*dx + g.py*dy); u > 0 && u < dx*dx+dy*dy {
		c := g.px*dy - g.py*dx
		lo2 = min(lo2, c*c/(dx*dx+dy*dy))
	}
	return math.Sqrt(lo2), math.Sqrt(hi2)
}

// crossing is an angle at which a circle about the hinge passes a face.
type crossing struct {
	angle float64 // 0 <= angle < 2 pi
	turn  int8    // +1 into the material, -1 out of it, 0 through a sheet
}

// crossings appends where the circle of radius r crosses the segment. With
// the points p + u (q - p), |p + u d| = r is a quadratic in u; written from
// the foot of the perpendicular it loses no digits to cancellation. Which
// roots exist follows from the end points' distances alone, so that a closed
// curve always gives as many crossings inward as outward.
func (g *segment) crossings(r float64, to []crossing) []crossing {
	if g.straight {
		return g.crossingStraight(r, to)
	}
	r2 := r * r
	pIn, qIn := g.p2 < r2, g.q2 < r2
	if pIn && qIn {
		return to
	}
	dx, dy := g.qx-g.px, g.qy-g.py
	d2 := dx*dx + dy*dy
	if d2 == 0 {
		return to
	}
	foot := -(g.px*dx + g.py*dy) / d2
	c := g.px*dy - g.py*dx
	half2 := (r2 - c*c/d2) / d2
	if !pIn && !qIn {
		if !(foot > 0 && foot < 1 && half2 > 0) {
			return to
		}
	}
	half := math.Sqrt(max(0, half2))
	if !pIn {
		to = append(to, g.crossing(max(0, min(1, foot-half)), dx, dy, -1))
	}
	if !qIn {
		to = append(to, g.crossing(max(0, min(1, foot+half)), dx, dy, 1))
	}
	return to
}

// crossingStraight is crossings for the line along y at x.
func (g *segment) crossingStraight(x float64, to []crossing) []crossing {
	pIn, qIn := g.px < x, g.qx < x
	if pIn == qIn {
		return to
	}
	turn := int8(1)
	switch {
	case !g.closed:
		turn = 0
	case qIn:
		turn = -1
	}
	return append(to, crossing{g.py + (x-g.px)/(g.qx-g.px)*(g.qy-g.py), turn})
}

func (g *segment) crossing(u, dx, dy float64, turn int8) crossing {
	if !g.closed {
		turn = 0
	}
	return crossing{wrap(math.Atan2(g.py+u*dy, g.px+u*dx)), turn}
}

// throughCut returns where the segment passes the half plane that angles count
// from and how the winding changes across it toward the hinge.
func (g *segment) throughCut() (r float64, inward int32) {
	if !g.closed || g.straight || (g.py >= 0) == (g.qy >= 0) {
		return 0, 0
	}
	r = g.px - g.py*(g.qx-g.px)/(g.qy-g.py)
	if g.qy >= 0 {
		return r, 1
	}
	return r, -1
}

// wrap brings an angle into 0 <= a < 2 pi.
func wrap(a float64) float64 {
	switch {
	case a >= 0 && a < 2*math.Pi:
		return a
	case a >= -2*math.Pi && a < 0:
		a += 2 * math.Pi
	case a < 4*math.Pi && a > 0:
		a -= 2 * math.Pi
	default:
		if a = math.Mod(a, 2*math.Pi); a < 0 {
			a += 2 * math.Pi
		}
	}
	if a >= 2*math.Pi {
		a = 0
	}
	return a
}
