package sweep

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
)

func halfWay(int, int) float64 { return 0.5 }

// askew places walls so that no two line up.
func askew(i, j int) float64 {
	return 0.3 + 0.4*math.Mod(float64(1+i)*0.618034+float64(1+j)*0.414214, 1)
}

// spotsAt places a pending wall without looking.
func spotsAt(p pending, w *swath, r, x float64) []spot {
	y := way{upright: w.upright, longest: w.longest(r), least: leastArc}
	if p.round {
		return y.stand(x, 0, 2*math.Pi-y.spacing, nil)
	}
	return y.stand(x, p.s.low, p.s.high, nil)
}

// fromColumns makes a sweep whose columns are given, by row and node, with its
// walls at a given share of the way between them.
func fromColumns(cols [][]column, r0 float64, share func(i, j int) float64) *swath {
	nz, nr := len(cols), len(cols[0])
	w := &swath{plan: plan{
		surface: &surface{frame: newFrame(upAxis()), rHi: r0 + float64(nr)},
		grid:    grid{nr: nr, nz: nz, r0: r0, dr: 1, dz: 1},
		upright: newUpright(r0+float64(nr), 0.1),
	}}
	s := &sampler{plan: &w.plan}
	for j := range nz {
		r := row{off: make([]int32, nr+1), inside: make([]bool, nr), base: make([]int32, nr)}
		for i, c := range cols[j] {
			r.ends = append(r.ends, c.ends...)
			r.off[i+1] = int32(len(r.ends))
			r.inside[i] = c.inside
		}
		r.ahead, r.back, r.round = make([]link, len(r.ends)), make([]link, len(r.ends)), make([]int32, nr-1)
		s.pending = s.pending[:0]
		for i := range nr - 1 {
			r.round[i] = -1
			s.join(i, r.column(i), r.column(i+1), r.links(r.ahead, i), r.links(r.back, i+1), r.off[i], r.off[i+1], w.r(i))
		}
		for _, p := range s.pending {
			i := p.pair
			r.settle(p, r.links(r.ahead, i), r.links(r.back, i+1), w.longest(w.r(i)), spotsAt(p, w, w.r(i), share(i, j)), func(q spot) point {
				return point{w.r(i) + q.x, q.a, w.z(j)}
			})
		}
		w.rows = append(w.rows, r)
	}
	for j := range nz - 1 {
		low, high := &w.rows[j], &w.rows[j+1]
		x := slab{seam{ahead: make([]link, len(low.ends)), back: make([]link, len(high.ends)), round: make([]int32, nr)}}
		s.pending = s.pending[:0]
		for i := range nr {
			x.round[i] = -1
			s.join(i, low.column(i), high.column(i), low.links(x.ahead, i), high.links(x.back, i), low.off[i], high.off[i], w.r(i))
		}
		for _, p := range s.pending {
			i := p.pair
			x.settle(p, low.links(x.ahead, i), high.links(x.back, i), w.longest(w.r(i)), spotsAt(p, w, w.r(i), share(j+7, i)), func(q spot) point {
				return point{w.r(i), q.a, w.z(j) + q.x}
			})
		}
		w.slabs = append(w.slabs, x)
	}
	w.place()
	return w
}

func (w *swath) built(t interface{ Fatalf(string, ...any) }) *mesh.Mesh {
	if err := w.stitch(context.Background()); err != nil {
		t.Fatalf("stitch: %v", err)
	}
	b := mesh.NewBuilder()
	for _, p := range w.points {
		b.Vertex(w.frame.model(p.r, p.a, p.z))
	}
	for _, v := range w.tris {
		b.Face(v[0], v[1], v[2])
	}
	m, report, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		t.Fatalf("building the mesh: %v", err)
	}
	if report.ZeroArea+report.Duplicate+report.NonFinite > 0 {
		t.Fatalf("the mesh was mended: %+v", report)
	}
	return m
}

// framed returns rows of columns with one empty column all round; when the
// grid begins on the hinge the innermost columns stay as they are.
func framed(nr, nz int, onHinge bool, at func(i, j int) column) [][]column {
	cols := make([][]column, nz)
	for j := range cols {
		cols[j] = make([]column, nr)
		for i := range cols[j] {
			if j > 0 && j < nz-1 && i < nr-1 && (i > 0 || onHinge) {
				cols[j][i] = at(i, j)
			}
		}
	}
	return cols
}

func full() column { return column{inside: true} }

func arc(from, to float64) column { return column{ends: []float64{from, to}} }

// Half way to its empty neighbours each, one column makes a square tile.
func TestVolumeOfOneColumn(t *testing.T) {
	// The walls stand half a cell off, the corners of the tile are cut by
	// straight lines between them: a diamond of half a square cell.
	const r = 3.0
	w := fromColumns(framed(3, 3, false, func(i, j int) column { return arc(1, 2) }), r-1, halfWay)
	m := w.built(t)
	if err := mesh.Validate(m); err != nil {
		t.Fatal(err)
	}
	if want := 0.5 * r * 1; math.Abs(w.volume()-want) > 1e-12 {
		t.Errorf("volume is %v, want %v", w.volume(), want)
	}
	w = fromColumns(framed(3, 3, false, func(i, j int) column { return full() }), r-1, halfWay)
	m = w.built(t)
	if err := mesh.Validate(m); err != nil {
		t.Fatal(err)
	}
	if want := 0.5 * r * 2 * math.Pi; math.Abs(w.volume()-want) > 1e-12 {
		t.Errorf("volume of the ring is %v, want %v", w.volume(), want)
	}
}

// A block of full columns on the hinge is a drum with cut corners: radius 2.5,
// height 2 with the walls half a cell beyond the columns.
func TestVolumeOnTheHinge(t *testing.T) {
	w := fromColumns(framed(4, 4, true, func(i, j int) column { return full() }), 0, halfWay)
	m := w.built(t)
	if err := mesh.Validate(m); err != nil {
		t.Fatal(err)
	}
	// A cylinder of radius 2.5 and height 2, less the ring that a triangle of
	// legs 0.5 makes at either rim (Pappus).
	want := math.Pi*2.5*2.5*2 - 2*(2*math.Pi*(2.5-0.5/3)*0.125)
	if math.Abs(w.volume()-want) > 1e-12*want {
		t.Errorf("volume is %.15g, want %.15g", w.volume(), want)
	}
}

// All sixteen ways to fill four columns, with a full turn, with one arc, with
// two that overlap and with two that do not.
func TestAllWaysToFillAPrism(t *testing.T) {
	for fill := range 16 {
		for name, pair := range map[string][2]column{
			"full":     {full(), full()},
			"arc":      {arc(1, 2), arc(1, 2)},
			"shifted":  {arc(1, 2), arc(1.5, 3)},
			"apart":    {arc(1, 2), arc(4, 5)},
			"full/arc": {full(), arc(1, 2)},
			"gap/arc":  {{inside: true, ends: []float64{1, 2}}, arc(0.5, 3)},
			"two/one":  {{ends: []float64{1, 2, 3, 4}}, arc(1.1, 3.9)},
		} {
			for _, r0 := range []float64{0, 2} {
				w := fromColumns(framed(4, 4, false, func(i, j int) column {
					k := (i - 1) + 2*(j-1)
					if fill>>k&1 == 0 {
						return column{}
					}
					return pair[(i+j)%2]
				}), r0, askew)
				m := w.built(t)
				if fill == 0 {
					if len(m.Triangles()) != 0 {
						t.Errorf("empty columns give %d triangles", len(m.Triangles()))
					}
					continue
				}
				if err := mesh.Validate(m); err != nil {
					t.Errorf("fill %04b, %s, from radius %v: %v", fill, name, r0, err)
				}
			}
		}
	}
}

// Whatever the columns hold, the surface is closed, every edge has two
// triangles that agree, and every vertex one fan.
func TestAnyColumnsGiveAClosedManifold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		onHinge := rapid.Bool().Draw(t, "on the hinge")
		r0 := 2.0
		if onHinge {
			r0 = 0
		}
		some := false
		cols := framed(rapid.IntRange(3, 5).Draw(t, "nodes"), rapid.IntRange(3, 5).Draw(t, "rows"), onHinge, func(i, j int) column {
			c := drawColumn(t)
			if onHinge && i == 0 {
				c = column{inside: c.inside}
			}
			some = some || c.inside || len(c.ends) > 0
			return c
		})
		w := fromColumns(cols, r0, askew)
		m := w.built(t)
		if !some {
			return
		}
		top := m.Topology()
		for e, v := range top.EdgeVerts {
			if !top.Consistent(e) {
				t.Fatalf("edge between %v and %v has %d triangles", m.Vertices()[v[0]], m.Vertices()[v[1]], len(top.EdgeFaces(e)))
			}
		}
		if v := m.Volume(); v <= 0 && w.volume() > 0.1 {
			t.Fatalf("mesh holds %v, volume is %v", v, w.volume())
		}
	})
}

// The flux of a closed surface in (radius, angle, height) is its volume: here
// a sector of a ring, cut into triangles.
func TestFluxOfARingSector(t *testing.T) {
	corner := func(i, j, k int) point {
		return point{[2]float64{1, 3}[i], [2]float64{6.1, 6.1 + 1.2}[j], [2]float64{-1, 4}[k]}
	}
	var v mesh.Sum
	f := newFrame(upAxis())
	quad := func(a, b, c, d point) {
		v.Add(f.flux(a, b, c))
		v.Add(f.flux(a, c, d))
	}
	for _, side := range []int{0, 1} {
		q := []point{corner(side, 0, 0), corner(side, 1, 0), corner(side, 1, 1), corner(side, 0, 1)}
		if side == 0 {
			q[1], q[3] = q[3], q[1]
		}
		quad(q[0], q[1], q[2], q[3])
		// Faces of constant angle and of constant height have no shadow in
		// (angle, height) that counts.
		quad(corner(0, side, 0), corner(1, side, 0), corner(1, side, 1), corner(0, side, 1))
		quad(corner(0, 0, side), corner(1, 0, side), corner(1, 1, side), corner(0, 1, side))
	}
	if want := 1.2 * (9 - 1) / 2.0 * 5; math.Abs(v.Value()-want) > 1e-13*want {
		t.Errorf("volume is %.15g, want %.15g", v.Value(), want)
	}
}

// A cone's mantle from its apex on the hinge to its rim, with the disc that
// closes it.
func TestFluxOfACone(t *testing.T) {
	const n, r, h = 12, 2.0, 3.0
	w := swath{plan: plan{surface: &surface{frame: newFrame(upAxis())}}}
	apex := point{0, 0.3, h}
	w.points = append(w.points, apex, point{0, 0, 0})
	for k := range n {
		w.points = append(w.points, point{r, 2 * math.Pi * float64(k) / n, 0})
	}
	for k := range int32(n) {
		a, b := 2+k, 2+(k+1)%n
		w.tris = append(w.tris, [3]int32{a, b, 0}, [3]int32{b, a, 1})
	}
	if want := math.Pi * r * r * h / 3; math.Abs(w.volume()-want) > 1e-13*want {
		t.Errorf("volume is %.15g, want %.15g", w.volume(), want)
	}
}

func TestBendOfAParabola(t *testing.T) {
	// angle = x^2 at x = 0: second derivative 2, so h^2/8 f” = 1/4 of a cell.
	for _, c := range []struct {
		ahead, back slope
		want        float64
	}{
		{slope{1, 1}, slope{1, 1}, 0.25},
		{slope{0.25, 0.5}, slope{1, 1}, 0.25},
		{slope{0.7, 1}, slope{-0.7, 1}, 0},
	} {
		if got := bendOf(c.ahead, c.back); math.Abs(got-c.want) > 1e-15 {
			t.Errorf("bend of %v and %v is %v, want %v", c.ahead, c.back, got, c.want)
		}
	}
}

func TestClipKeepsOffTheSides(t *testing.T) {
	// A loop with both its walls on side 0 cannot be cut without a vertex in
	// the middle of the prism.
	w := &stitcher{plan: &plan{surface: &surface{frame: newFrame(upAxis())}, grid: grid{dr: 1, dz: 1}}, middle: point{r: 2.51, z: 0.49}, rise: 1}
	ids := map[int32]point{0: {2, 1, 0}, 1: {2.5, 1, 0}, 2: {2.5, 2, 0}, 3: {2, 2, 0}}
	w.vertex = func(id int32) point {
		if id < 0 {
			return w.extra[-id-1]
		}
		return ids[id]
	}
	l := &loop{ids: []int32{0, 1, 2, 3}, angle: []float64{1, 1, 2, 2}, on: []int8{1, 1, 1, 1}}
	w.clip(l)
	if len(w.extra) != 1 || len(w.tris) != 4 {
		t.Fatalf("made %d vertices and %d triangles, want 1 and 4", len(w.extra), len(w.tris))
	}
	if c := w.extra[0]; c.z <= 0 || c.a != 1.5 {
		t.Errorf("the new vertex %v lies in the side", c)
	}
	for _, v := range w.tris {
		var p [3]r3.Vec
		for k := range v {
			p[k] = w.space(w.vertex(v[k]))
		}
		if a := r3.Norm(r3.Cross(r3.Sub(p[1], p[0]), r3.Sub(p[2], p[0]))); a < 0.01 {
			t.Errorf("triangle %v has area %v", v, a/2)
		}
	}
}
