package draft

import (
	"math"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// Extreme is the outline of a part in an extreme position: a narrow
// long-dash-double-dot line (ISO 128, 05.1) round what the part covers in the
// picture, without its inner lines. Where parts hide it, it is lighter.
type Extreme struct {
	Mesh   *mesh.Mesh
	Motion kinematics.Transform // the zero value is no motion
	Ink    Ink
}

func (m Extreme) draw(c *canvas) {
	if m.Mesh == nil || len(m.Mesh.Triangles()) == 0 {
		return
	}
	key := outlineKey{m.Mesh, m.Motion, c.view}
	runs, ok := c.memo.find(key)
	if !ok {
		runs = newOutliner(m.Mesh, orIdentity(m.Motion), c.view).runs()
		c.memo.keep(key, runs)
	}
	pn := c.pen(m.Ink, false, LongDashDoubleDot, Faded)
	pn.width = c.px(1.2)
	paths := make([]path, len(runs))
	for i, r := range runs {
		paths[i] = newPath(r)
	}
	c.stroke(layerLine, pn, paths...)
}

// Memo keeps outlines between drawings of the same view, so that a change of
// other marks does not trace them again. A nil Memo keeps nothing. It must not
// be used by two drawings at once.
type Memo struct {
	keys []outlineKey
	runs [][][]Pixel
}

type outlineKey struct {
	mesh   *mesh.Mesh
	motion kinematics.Transform
	view   View
}

// memoSize bounds a memo: two extreme positions of a few parts.
const memoSize = 24

func (m *Memo) find(k outlineKey) ([][]Pixel, bool) {
	if m == nil {
		return nil, false
	}
	for i := range m.keys {
		if m.keys[i] == k {
			return m.runs[i], true
		}
	}
	return nil, false
}

func (m *Memo) keep(k outlineKey, runs [][]Pixel) {
	if m == nil {
		return
	}
	if len(m.keys) > 0 && m.keys[0].view != k.view || len(m.keys) >= memoSize {
		m.keys, m.runs = nil, nil
	}
	m.keys, m.runs = append(m.keys, k), append(m.runs, runs)
}

// outliner finds the outline of a mesh in the picture. It fills a mask with
// the projected triangles, follows the mask's border, straightens the stairs
// and puts the corners back on projected vertices, which are exact. Unlike the
// contour edges in space this gives the outer line alone, whatever the mesh.
type outliner struct {
	view   View
	points []Pixel // projected vertices
	ok     []bool
	tris   [][3]int32
	x0, y0 float64 // pixel of the mask's corner
	fine   float64 // cells per pixel
	w, h   int
	mask   []bool
	rim    map[[2]int][]Pixel // contour vertices by pixel
}

const (
	outlineMargin = 48.0    // pixels beyond the picture that are still traced
	fineArea      = 700_000 // pixels up to which cells are half a pixel wide
	stairs        = 0.75    // pixels that straightening may leave a stair by
	snapReach     = 1.7     // pixels to the vertex that a corner is put on
	cornerTurn    = 0.5     // radians from which a turn ends a run of dashes
	smallestLoop  = 14.0    // pixels round: smaller ones are noise
)

func newOutliner(m *mesh.Mesh, x kinematics.Transform, v View) *outliner {
	o := &outliner{view: v, tris: m.Triangles()}
	vertices := m.Vertices()
	o.points, o.ok = make([]Pixel, len(vertices)), make([]bool, len(vertices))
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for i, p := range vertices {
		q, ok := v.Project(x.Apply(p))
		o.points[i], o.ok[i] = q, ok
		if ok {
			b.x0, b.y0 = math.Min(b.x0, q.X), math.Min(b.y0, q.Y)
			b.x1, b.y1 = math.Max(b.x1, q.X), math.Max(b.y1, q.Y)
		}
	}
	b.x0, b.y0 = math.Max(b.x0, -outlineMargin), math.Max(b.y0, -outlineMargin)
	b.x1 = math.Min(b.x1, float64(v.Width)+outlineMargin)
	b.y1 = math.Min(b.y1, float64(v.Height)+outlineMargin)
	if !(b.x0 < b.x1 && b.y0 < b.y1) {
		return o
	}
	o.fine = 1
	if b.area() < fineArea {
		o.fine = 2
	}
	// One empty cell all round lets the border be followed without edge cases.
	o.x0, o.y0 = math.Floor(b.x0)-1, math.Floor(b.y0)-1
	o.w = int(math.Ceil((b.x1-o.x0)*o.fine)) + 2
	o.h = int(math.Ceil((b.y1-o.y0)*o.fine)) + 2
	o.fill(m)
	return o
}

// fill marks the covered cells and collects the vertices of contour edges.
func (o *outliner) fill(m *mesh.Mesh) {
	o.mask = make([]bool, o.w*o.h)
	front := make([]bool, len(o.tris))
	for t, tri := range o.tris {
		if !o.ok[tri[0]] || !o.ok[tri[1]] || !o.ok[tri[2]] {
			continue
		}
		a, b, c := o.points[tri[0]], o.points[tri[1]], o.points[tri[2]]
		front[t] = (b.X-a.X)*(c.Y-a.Y)-(b.Y-a.Y)*(c.X-a.X) < 0
		o.fillTriangle(o.cell(a), o.cell(b), o.cell(c))
	}
	o.rim = make(map[[2]int][]Pixel)
	top := m.Topology()
	seen := make([]bool, len(o.points))
	for e, ends := range top.EdgeVerts {
		f := top.EdgeFaces(e)
		if len(f) == 2 && front[f[0]] == front[f[1]] {
			continue
		}
		for _, v := range ends {
			if p := o.points[v]; !seen[v] && o.ok[v] {
				seen[v] = true
				key := [2]int{int(math.Floor(p.X)), int(math.Floor(p.Y))}
				o.rim[key] = append(o.rim[key], p)
			}
		}
	}
}

// cell converts a pixel to cells of the mask.
func (o *outliner) cell(p Pixel) [2]float64 {
	return [2]float64{(p.X - o.x0) * o.fine, (p.Y - o.y0) * o.fine}
}

// fillTriangle marks the cells whose middle lies in the triangle. The mask's
// outermost cells stay empty.
func (o *outliner) fillTriangle(a, b, c [2]float64) {
	lo := math.Max(1, math.Ceil(min(a[1], b[1], c[1])-0.5))
	hi := math.Min(float64(o.h-1), math.Ceil(max(a[1], b[1], c[1])-0.5))
	for y := lo; y < hi; y++ {
		x0, x1 := math.Inf(1), math.Inf(-1)
		for _, s := range [3][2][2]float64{{a, b}, {b, c}, {c, a}} {
			p, q := s[0], s[1]
			if (p[1] <= y+0.5) != (q[1] <= y+0.5) {
				x := p[0] + (y+0.5-p[1])/(q[1]-p[1])*(q[0]-p[0])
				x0, x1 = math.Min(x0, x), math.Max(x1, x)
			}
		}
		first, last := math.Max(1, math.Ceil(x0-0.5)), math.Min(float64(o.w-1), math.Ceil(x1-0.5))
		row := o.mask[int(y)*o.w:]
		for x := int(first); x < int(last); x++ {
			row[x] = true
		}
	}
}

// runs returns the outline in runs between its corners.
func (o *outliner) runs() [][]Pixel {
	var out [][]Pixel
	for _, loop := range o.trace() {
		p := o.snap(straighten(loop, stairs))
		if len(p) < 3 || newPath(append(p[:len(p):len(p)], p[0])).length() < smallestLoop {
			continue
		}
		out = append(out, cutAtCorners(p)...)
	}
	return out
}

// trace follows the borders of the mask; each loop is closed, with covered
// cells on its left.
func (o *outliner) trace() [][]Pixel {
	// Directions: right, down, left, up, along the cells' sides.
	step := [4]int{1, o.w, -1, -o.w}
	right := [4]int{0, -1, -o.w - 1, -o.w} // cell right of a step from a corner, seen along it
	left := [4]int{-o.w, 0, -1, -o.w - 1}  // cell left of it
	used := make([]bool, len(o.mask))      // corners left rightward
	isIn := func(c int) bool { return c >= 0 && c < len(o.mask) && o.mask[c] }
	var loops [][]Pixel
	for start := range o.mask {
		if used[start] || !isIn(start-o.w) || isIn(start) {
			continue
		}
		var loop []Pixel
		at, dir := start, 0
		for {
			if dir == 0 {
				used[at] = true
			}
			loop = append(loop, Pixel{
				X: o.x0 + float64(at%o.w)/o.fine, Y: o.y0 + float64(at/o.w)/o.fine,
			})
			at += step[dir]
			// Turn left where the way ahead leads out of the covered cells, right
			// where it leads in: corners that touch are kept apart.
			for _, turn := range [3]int{3, 0, 1} {
				d := (dir + turn) % 4
				if isIn(at+left[d]) && !isIn(at+right[d]) {
					dir = d
					break
				}
			}
			if at == start && dir == 0 {
				break
			}
		}
		loops = append(loops, loop)
	}
	return loops
}

// snap puts corners on the projected vertices of contour edges near them.
func (o *outliner) snap(p []Pixel) []Pixel {
	out := make([]Pixel, 0, len(p))
	for _, q := range p {
		best, d := q, snapReach
		x, y := int(math.Floor(q.X)), int(math.Floor(q.Y))
		for dy := -2; dy <= 2; dy++ {
			for dx := -2; dx <= 2; dx++ {
				for _, v := range o.rim[[2]int{x + dx, y + dy}] {
					if e := math.Hypot(v.X-q.X, v.Y-q.Y); e < d {
						best, d = v, e
					}
				}
			}
		}
		if k := len(out); k == 0 || math.Hypot(out[k-1].X-best.X, out[k-1].Y-best.Y) > 0.3 {
			out = append(out, best)
		}
	}
	return fillDepths(out)
}

// fillDepths gives corners that are on no vertex the depth of one before them.
func fillDepths(p []Pixel) []Pixel {
	last := 0.0
	for pass := 0; pass < 2; pass++ {
		for i := range p {
			if p[i].Depth != 0 {
				last = p[i].Depth
			} else if last != 0 {
				p[i].Depth = last
			}
		}
	}
	return p
}
