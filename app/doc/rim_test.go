package doc_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/app/doc"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// plate is a flat face of squares in the xy plane, its outside to +z, from -1
// to 1, with more vertices to the right than to the left, and pressed into a
// disc where round.
type plate struct {
	round bool
	holes []hole
}

// hole is where four squares of the plate are left out and the corners round
// them pushed onto a circle.
type hole struct {
	column, row int // of the vertex in the middle
	radius      float64
	oval        float64 // relative difference of the half axes
}

const plateCells = 24

// at returns where a vertex of the grid is before holes are cut.
func (p plate) at(column, row int) r3.Vec {
	x, y := 2*float64(column)/plateCells-1, 2*float64(row)/plateCells-1
	x += 0.3 * (1 - x*x)
	if p.round && (x != 0 || y != 0) {
		f := math.Max(math.Abs(x), math.Abs(y)) / math.Hypot(x, y)
		x, y = f*x, f*y
	}
	return r3.Vec{X: x, Y: y}
}

// session makes the plate the only part of a model, moved and scaled.
func (p plate) session(t testing.TB, scale float64, move kinematics.Transform) (*doc.Session, []doc.Pick) {
	t.Helper()
	points := map[[2]int]r3.Vec{}
	for c := range plateCells + 1 {
		for r := range plateCells + 1 {
			points[[2]int{c, r}] = p.at(c, r)
		}
	}
	cut := map[[2]int]bool{}
	for _, h := range p.holes {
		middle := p.at(h.column, h.row)
		for k, step := range [][2]int{{1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1}} {
			sin, cos := math.Sincos(float64(k) * math.Pi / 4)
			points[[2]int{h.column + step[0], h.row + step[1]}] = r3.Add(middle, r3.Vec{X: h.radius * (1 + h.oval) * cos, Y: h.radius * sin})
		}
		for _, c := range [][2]int{{0, 0}, {-1, 0}, {0, -1}, {-1, -1}} {
			cut[[2]int{h.column + c[0], h.row + c[1]}] = true
		}
	}
	b := mesh.NewBuilder()
	number := map[[2]int]int32{}
	vertex := func(c, r int) int32 {
		k := [2]int{c, r}
		if _, ok := number[k]; !ok {
			number[k] = b.Vertex(move.Apply(r3.Scale(scale, points[k])))
		}
		return number[k]
	}
	for c := range plateCells {
		for r := range plateCells {
			if !cut[[2]int{c, r}] {
				b.Face(vertex(c, r), vertex(c+1, r), vertex(c+1, r+1), vertex(c, r+1))
			}
		}
	}
	return flatSession(t, b)
}

// flatSession makes one part of faces and picks all of them.
func flatSession(t testing.TB, b *mesh.Builder) (*doc.Session, []doc.Pick) {
	t.Helper()
	m, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		t.Fatal(err)
	}
	model := &mesh.Model{Parts: []mesh.Part{{Name: "plate", Mesh: m}}, Unit: mesh.Millimetre, Up: mesh.UpZ}
	s, err := doc.NewSession(doc.New(doc.ModelRef{Path: "/m/plate.obj"}, model), model)
	if err != nil {
		t.Fatal(err)
	}
	all := make([]int32, len(m.Triangles()))
	for i := range all {
		all[i] = int32(i)
	}
	return s, must[[]doc.Pick](t)(s.Pick(0, doc.Elements{Triangles: all}))
}

func datumOf(t testing.TB, s *doc.Session, picks []doc.Pick) fit.Datum {
	t.Helper()
	return must[fit.Datum](t)(s.FitPicks(picks, must[doc.DatumRecipe](t)(s.Suggest(picks))))
}

func TestFlatFaceTurnsAboutTheRimThatDecides(t *testing.T) {
	hub := hole{column: 12, row: 12, radius: 0.1}
	for name, c := range map[string]struct {
		plate  plate
		radius float64 // 0: a plane
		column int     // of the centre, row 12; -1: the middle
	}{
		"disc":                      {plate{round: true}, 1, -1},
		"disc with bolt holes":      {plate{round: true, holes: []hole{{18, 12, 0.05, 0}, {6, 12, 0.05, 0}, {12, 18, 0.05, 0}}}, 1, -1},
		"square":                    {plate{}, 0, 0},
		"square with a bore":        {plate{holes: []hole{hub}}, 0.1, 12},
		"square with an oval":       {plate{holes: []hole{{12, 12, 0.1, 0.2}}}, 0, 0},
		"square with two bores":     {plate{holes: []hole{{6, 12, 0.1, 0}, {18, 12, 0.1, 0}}}, 0, 0},
		"square with bore and oval": {plate{holes: []hole{{6, 12, 0.1, 0}, {18, 12, 0.1, 0.2}}}, 0.1, 6},
	} {
		t.Run(name, func(t *testing.T) {
			s, picks := c.plate.session(t, 10, kinematics.Identity())
			d := datumOf(t, s, picks)
			if c.radius == 0 {
				if d.Kind != fit.Plane {
					t.Errorf("a %s, want a plane", d.Kind)
				}
				return
			}
			var want r3.Vec
			if c.column >= 0 {
				want = r3.Scale(10, c.plate.at(c.column, 12))
			}
			if d.Kind != fit.Circle || math.Abs(d.Radius-10*c.radius) > 1e-9 || r3.Norm(r3.Sub(d.Origin, want)) > 1e-9 || d.Arc != 2*math.Pi {
				t.Errorf("a %s of radius %g at %v over %g rad, want a circle of %g at %v", d.Kind, d.Radius, d.Origin, d.Arc, 10*c.radius, want)
			}
			if r3.Norm(r3.Sub(d.Axis, r3.Vec{Z: 1})) > 1e-9 {
				t.Errorf("the axis %v does not point to the face's outside", d.Axis)
			}
			// What the rim is chosen for: the middle of the vertices is elsewhere.
			plane := must[fit.Datum](t)(s.FitPicks(picks, doc.DatumRecipe{Method: doc.LeastSquares, Shape: fit.Plane}))
			if off := r3.Norm(r3.Sub(plane.Origin, want)); off < 0.5 {
				t.Errorf("the plane's point is only %g off the middle: the case shows nothing", off)
			}
		})
	}
}

// Of concentric rims the one that is known best counts, whichever is larger:
// here the outer one has a notch that the other has not.
func TestFlatFacePrefersTheTruerOfConcentricRims(t *testing.T) {
	for name, notched := range map[string]int{"outer notched": 0, "inner notched": 1} {
		t.Run(name, func(t *testing.T) {
			b := mesh.NewBuilder()
			const n = 40
			radius := [2]float64{20, 8}
			var ring [2][n]int32
			for k := range ring {
				for i := range n {
					r := radius[k]
					if k == notched && i < 6 {
						r *= 0.985
					}
					sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
					ring[k][i] = b.Vertex(r3.Vec{X: 3 + r*cos, Y: -4 + r*sin, Z: 7})
				}
			}
			for i := range n {
				j := (i + 1) % n
				b.Face(ring[0][i], ring[0][j], ring[1][j], ring[1][i])
			}
			s, picks := flatSession(t, b)
			d := datumOf(t, s, picks)
			if d.Kind != fit.Circle || math.Abs(d.Radius-radius[1-notched]) > 1e-9 || r3.Norm(r3.Sub(d.Origin, r3.Vec{X: 3, Y: -4, Z: 7})) > 1e-9 {
				t.Errorf("a %s of radius %g at %v", d.Kind, d.Radius, d.Origin)
			}
		})
	}
}

// A chord closes an outline without lying on its circle, so the arc tells.
func TestFlatFaceOfASegment(t *testing.T) {
	for arc, want := range map[float64]fit.Kind{120: fit.Plane, 170: fit.Plane, 200: fit.Circle, 300: fit.Circle} {
		b := mesh.NewBuilder()
		var ring []int32
		for i := range 30 {
			sin, cos := math.Sincos(kinematics.Radians(arc) * float64(i) / 29)
			ring = append(ring, b.Vertex(r3.Vec{X: 5 * cos, Y: 5 * sin}))
		}
		b.Face(ring...)
		s, picks := flatSession(t, b)
		if d := datumOf(t, s, picks); d.Kind != want {
			t.Errorf("a segment over %g degrees is a %s, want a %s", arc, d.Kind, want)
		}
	}
}

// The rim moves with the model.
func TestRimFollowsTheModelProperty(t *testing.T) {
	p := plate{holes: []hole{{12, 12, 0.1, 0}}}
	s, picks := p.session(t, 1, kinematics.Identity())
	plain := datumOf(t, s, picks)
	rapid.Check(t, func(rt *rapid.T) {
		unit := rapid.Float64Range(-1, 1)
		dir := r3.Vec{X: unit.Draw(rt, "x"), Y: unit.Draw(rt, "y"), Z: 1.5}
		move := kinematics.Rotation(kinematics.Axis{Dir: r3.Unit(dir)}, rapid.Float64Range(-3, 3).Draw(rt, "turn"))
		scale := math.Pow(10, rapid.Float64Range(-3, 3).Draw(rt, "scale"))
		move.T = r3.Scale(20*scale, r3.Vec{X: unit.Draw(rt, "tx"), Y: unit.Draw(rt, "ty"), Z: unit.Draw(rt, "tz")})
		s, picks := p.session(t, scale, move)
		d := datumOf(t, s, picks)
		off := r3.Norm(r3.Sub(d.Origin, move.Apply(r3.Scale(scale, plain.Origin))))
		if d.Kind != fit.Circle || off > 1e-9*scale || r3.Norm(r3.Sub(d.Axis, move.Turn(plain.Axis))) > 1e-9 || math.Abs(d.Radius-scale*plain.Radius) > 1e-9*scale {
			rt.Errorf("%+v, off by %g at scale %g", d, off, scale)
		}
	})
}

// With other elements picked as well the rim does not speak for the pick.
func TestRimOnlyOfFacesAlone(t *testing.T) {
	s, picks := plate{round: true}.session(t, 10, kinematics.Identity())
	both := append(must[[]doc.Pick](t)(s.Pick(0, doc.Elements{Vertices: []int32{0}})), picks...)
	if r := must[doc.DatumRecipe](t)(s.Suggest(both)); r.Shape != fit.Plane {
		t.Errorf("faces and a vertex suggest a %s", r.Shape)
	}
}

func TestPatchAt(t *testing.T) {
	s, _ := plate{}.session(t, 10, kinematics.Identity())
	m := s.Parts[0].Mesh
	if got := doc.PatchAt(m, 5); len(got) != len(m.Triangles()) {
		t.Errorf("a click on the plate picks %d of %d triangles", len(got), len(m.Triangles()))
	}
	for _, tri := range []int{-1, len(m.Triangles())} {
		if got := doc.PatchAt(m, tri); got != nil {
			t.Errorf("triangle %d picks %v", tri, got)
		}
	}
}
