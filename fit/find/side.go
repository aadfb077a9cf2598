package find

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Side is where a joint stands in a mechanism that has mirrored limbs.
type Side string

// The sides. Left is where y is positive, with x pointing forward and z up; in
// a model that is mirrored across x, where x is positive, as its front looks
// along -y, or along z where y is up. Across z, with y up and x forward, left is
// where z is negative.
const (
	Middle Side = ""
	Left   Side = "left"
	Right  Side = "right"
)

// Sides tells for every joint of a result which side it is on: limbs that are
// alike, on one part, and mirror images of one another where they begin, are
// left and right, with all that hangs on them, in whatever pose they are. Names
// that say left or right decide which is which. Rows of like limbs, as fingers,
// have no sides.
func Sides(parts []mesh.Part, res Result, up mesh.Up) []Side {
	s := newSider(parts, res, up)
	out := make([]Side, len(res.Joints))
	for i, limb := range s.limbOf() {
		if limb >= 0 {
			out[i] = s.side[limb]
		}
	}
	return out
}

// sider looks for mirrored limbs.
type sider struct {
	parts  []mesh.Part
	res    Result
	up     r3.Vec
	figure []figure // of each part
	from   [][]int  // part: the joints whose parent it is
	side   []Side   // joint: of the limb that begins there
	says   []Side   // part: what its name says
}

func newSider(parts []mesh.Part, res Result, up mesh.Up) *sider {
	s := &sider{parts: parts, res: res, up: r3.Vec{Z: 1}, figure: make([]figure, len(parts)), from: make([][]int, len(parts)), side: make([]Side, len(res.Joints)), says: make([]Side, len(parts))}
	if up == mesh.UpY {
		s.up = r3.Vec{Y: 1}
	}
	for i, p := range parts {
		s.figure[i], s.says[i] = figureOf(p.Mesh), saysSide(p.Name)
	}
	for i, c := range res.Joints {
		if !c.Loop {
			s.from[c.Parent] = append(s.from[c.Parent], i)
		}
	}
	for part := range parts {
		s.mark(part)
	}
	return s
}

// limbOf returns for every joint the outermost joint on its way to the ground,
// itself included, that begins a limb with a side, or -1.
func (s *sider) limbOf() []int {
	by := make([]int, len(s.parts)) // part: the joint that carries it
	for i := range by {
		by[i] = -1
	}
	for i, c := range s.res.Joints {
		if !c.Loop {
			by[c.Child] = i
		}
	}
	for _, x := range s.res.Fixed {
		if by[x.Part] < 0 && x.To >= 0 {
			by[x.Part] = by[x.To]
		}
	}
	out := make([]int, len(s.res.Joints))
	for i, c := range s.res.Joints {
		out[i] = -1
		at := i
		if c.Loop {
			at = by[c.Child]
		}
		for steps := 0; at >= 0 && steps <= len(s.parts); steps++ {
			if s.side[at] != Middle {
				out[i] = at
			}
			at = by[s.res.Joints[at].Parent]
		}
	}
	return out
}

// twins is two limbs of one part with the plane that mirrors where they begin.
type twins struct {
	a, b   int    // joints; b's side is the one that the normal points away from
	normal r3.Vec // unit
	height float64
	off    float64 // of the image of a's origin from b's
}

const (
	mirrorTilt  = 0.02 // radians between a line and the other's image
	mirrorShift = 0.01 // of the part's diagonal
)

// mark gives the limbs of a part their sides.
func (s *sider) mark(part int) {
	size := s.figure[part].size
	var all []twins
	for k, i := range s.from[part] {
		for _, j := range s.from[part][:k] {
			if !s.alike(i, j, 0) {
				continue
			}
			for _, t := range s.planes(i, j) {
				if s.mirrors(&t, size) {
					all = append(all, t)
				}
			}
		}
	}
	var best []twins
	most := 0.0
	for _, plane := range all {
		if s.isRow(plane, part, size) {
			continue
		}
		of := inPlane(all, plane, size)
		if w := float64(len(of)) + 0.1*s.bias(plane.normal); w > most+1e-9 {
			best, most = of, w
		}
	}
	sign := s.told(best)
	for _, t := range best {
		s.side[t.a], s.side[t.b] = sideOf(sign), sideOf(-sign)
	}
}

// inPlane returns the twins of a plane, each limb once. The lines of several
// limbs may fall together: of these the nearest ones are twins.
func inPlane(all []twins, plane twins, size float64) []twins {
	of := slices.DeleteFunc(slices.Clone(all), func(t twins) bool { return !t.same(plane, size) })
	slices.SortStableFunc(of, func(t, o twins) int { return compare(t.off, o.off) })
	paired := map[int]bool{}
	return slices.DeleteFunc(of, func(t twins) bool {
		taken := paired[t.a] || paired[t.b]
		if !taken {
			paired[t.a], paired[t.b] = true, true
		}
		return taken
	})
}

func sideOf(sign float64) Side {
	if sign > 0 {
		return Left
	}
	return Right
}

// same reports whether two planes are one.
func (t twins) same(o twins, size float64) bool {
	return r3.Norm(r3.Cross(t.normal, o.normal)) < mirrorTilt && math.Abs(t.height-o.height) < mirrorShift*size
}

// told is 1 where the names, or else the axes, say that the normal points to
// the left, and -1 where it points to the right.
func (s *sider) told(all []twins) float64 {
	votes := 0.0
	for _, t := range all {
		votes += s.vote(t.a) - s.vote(t.b)
	}
	if votes < 0 {
		return -1
	}
	return 1
}

// vote is 1 where a joint's child is left by its name, -1 where it is right.
func (s *sider) vote(joint int) float64 {
	switch s.says[s.res.Joints[joint].Child] {
	case Left:
		return 1
	case Right:
		return -1
	}
	return 0
}

// bias prefers the usual planes where several mirror as many limbs.
func (s *sider) bias(n r3.Vec) float64 {
	if s.up.Y > 0 {
		return math.Abs(n.X)
	}
	return math.Abs(n.Y)
}

// planes are those that could mirror the beginnings of two limbs: their normals
// point to a's side, which is left.
func (s *sider) planes(i, j int) []twins {
	a, b := s.res.Joints[i], s.res.Joints[j]
	d := r3.Sub(a.Origin, b.Origin)
	normals := []r3.Vec{d, a.Axis}
	if lineAngle(a.Axis, b.Axis) < mirrorTilt {
		normals = append(normals, r3.Sub(d, r3.Scale(r3.Dot(d, a.Axis), a.Axis)))
	}
	var out []twins
	mid := r3.Scale(0.5, r3.Add(a.Origin, b.Origin))
	for _, n := range normals {
		l := r3.Norm(n)
		if l == 0 {
			continue
		}
		n = s.toLeft(r3.Scale(1/l, n))
		t := twins{a: i, b: j, normal: n, height: r3.Dot(n, mid)}
		if math.Abs(r3.Dot(n, s.up)) > 0.5 {
			continue // one above the other
		}
		if r3.Dot(d, n) < 0 {
			t.a, t.b = j, i
		}
		out = append(out, t)
	}
	return out
}

// toLeft is the sense of a normal that points to the left by its largest
// component.
func (s *sider) toLeft(n r3.Vec) r3.Vec {
	x, y, z := math.Abs(n.X), math.Abs(n.Y), math.Abs(n.Z)
	left := n.Y
	switch {
	case x > y && x > z:
		left = n.X
	case z > y:
		left = -n.Z
	}
	if left < 0 {
		return r3.Scale(-1, n)
	}
	return n
}

// mirrors reports whether the plane takes the first joint's line, and for what
// is no slide its place, to the second one's. Lines in the plane are no twins.
func (s *sider) mirrors(t *twins, size float64) bool {
	a, b := s.res.Joints[t.a], s.res.Joints[t.b]
	flip := func(p r3.Vec, height float64) r3.Vec {
		return r3.Sub(p, r3.Scale(2*(r3.Dot(t.normal, p)-height), t.normal))
	}
	if r3.Dot(t.normal, a.Origin)-t.height < mirrorShift*size {
		return false
	}
	if a.Kind != Spherical && lineAngle(flip(a.Axis, 0), b.Axis) > mirrorTilt {
		return false
	}
	image := flip(a.Origin, t.height)
	t.off = r3.Norm(r3.Sub(image, b.Origin))
	if a.Kind == Spherical {
		return t.off < mirrorShift*size
	}
	return fromLine(image, b.Origin, b.Axis) < mirrorShift*size
}

// isRow reports whether like limbs stand in a row across the plane: more than
// the two of t on its line.
func (s *sider) isRow(t twins, part int, size float64) bool {
	a := s.res.Joints[t.a]
	n := 0
	for _, i := range s.from[part] {
		o := s.res.Joints[i]
		if !s.alike(i, t.a, 0) {
			continue
		}
		d := r3.Sub(o.Origin, a.Origin)
		d = r3.Sub(d, r3.Scale(r3.Dot(d, t.normal), t.normal))
		if r3.Norm(d) < 5*mirrorShift*size {
			n++
		}
	}
	return n > 2
}

// alike reports whether the limbs that begin at two joints have parts of the
// same form, one after the other.
func (s *sider) alike(i, j, depth int) bool {
	if i == j || depth > len(s.parts) {
		return true
	}
	a, b := s.res.Joints[i], s.res.Joints[j]
	if a.Kind != b.Kind || !s.figure[a.Child].is(s.figure[b.Child]) || len(s.from[a.Child]) != len(s.from[b.Child]) {
		return false
	}
	left := slices.Clone(s.from[b.Child])
	for _, k := range s.from[a.Child] {
		m := slices.IndexFunc(left, func(l int) bool { return s.alike(k, l, depth+1) })
		if m < 0 {
			return false
		}
		left = slices.Delete(left, m, m+1)
	}
	return true
}

// figure is what a part and its mirror image have in common, in every pose.
type figure struct {
	area, size float64
	spread     [3]float64 // radii of the surface's inertia, rising
}

const sameFigure = 0.02 // share by which sizes may differ

func (f figure) is(o figure) bool {
	near := func(a, b float64) bool { return math.Abs(a-b) <= sameFigure*max(math.Abs(a), math.Abs(b)) }
	small := 0.05 * max(f.spread[2], o.spread[2])
	for k, x := range f.spread {
		if !near(x, o.spread[k]) && max(x, o.spread[k]) > small {
			return false
		}
	}
	return near(f.area, o.area)
}

func figureOf(m *mesh.Mesh) figure {
	if m == nil || len(m.Triangles()) == 0 {
		return figure{}
	}
	f := figure{size: m.Diagonal()}
	var mid r3.Vec
	for t := range m.Triangles() {
		w := r3.Norm(m.AreaNormal(t)) / 2
		f.area += w
		mid = r3.Add(mid, r3.Scale(w, centre(m, t)))
	}
	if f.area == 0 {
		return f
	}
	mid = r3.Scale(1/f.area, mid)
	sum := mat.NewSymDense(3, nil)
	for t := range m.Triangles() {
		a, b, c := m.Corners(t)
		w := r3.Norm(m.AreaNormal(t)) / 2
		// The integral over a triangle of pp' is its area over 12 times the sum
		// over its corners and thrice its middle.
		for _, p := range []r3.Vec{a, b, c} {
			addOuter(sum, r3.Sub(p, mid), w/12)
		}
		addOuter(sum, r3.Sub(centre(m, t), mid), 9*w/12)
	}
	var e mat.EigenSym
	if !e.Factorize(sum, false) {
		return f
	}
	v := e.Values(nil)
	slices.SortFunc(v, cmp.Compare[float64])
	for k := range f.spread {
		f.spread[k] = math.Sqrt(max(v[k], 0) / f.area)
	}
	return f
}

func addOuter(sum *mat.SymDense, p r3.Vec, w float64) {
	sum.SymRankOne(sum, w, mat.NewVecDense(3, []float64{p.X, p.Y, p.Z}))
}
