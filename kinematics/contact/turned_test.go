package contact

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/kinematics"
)

// sideOf builds one body about an axis as NewScene does.
func sideOf(t testing.TB, s solid, axis kinematics.Axis) (*side, *axisFrame, float64) {
	t.Helper()
	b := []Body{s.body(t, "body")}
	bounds := boundsOf(b)
	f := newAxisFrame(Hinge(axis), bounds)
	tolerance := f.scale * DefaultTolerance * r3.Norm(r3.Sub(bounds.Max, bounds.Min))
	x, err := newSide(t.Context(), 0, b[0].Mesh, &f, motion{turns: true}, tolerance)
	if err != nil {
		t.Fatal(err)
	}
	return x, &f, tolerance
}

// turnedShare returns what share of the triangles is turned, and of these the
// largest sagitta in model units.
func turnedShare(t testing.TB, s solid, axis kinematics.Axis) (share, sagitta float64) {
	x, f, _ := sideOf(t, s, axis)
	n := 0
	for i := range x.tris {
		if x.turned[i] >= 0 {
			n++
			sagitta = max(sagitta, float64(x.sagitta[i])/f.scale)
		}
	}
	return float64(n) / float64(len(x.tris)), sagitta
}

// icosphere is a sphere whose vertices lie on no rings about any axis but by
// chance.
func icosphere(radius float64, cuts int) solid {
	const g = math.Phi
	v := []r3.Vec{
		{X: -1, Y: g},
		{X: 1, Y: g},
		{X: -1, Y: -g},
		{X: 1, Y: -g},
		{Y: -1, Z: g},
		{Y: 1, Z: g},
		{Y: -1, Z: -g},
		{Y: 1, Z: -g},
		{X: g, Z: -1},
		{X: g, Z: 1},
		{X: -g, Z: -1},
		{X: -g, Z: 1},
	}
	f := [][3]int{
		{0, 11, 5},
		{0, 5, 1},
		{0, 1, 7},
		{0, 7, 10},
		{0, 10, 11},
		{1, 5, 9},
		{5, 11, 4},
		{11, 10, 2},
		{10, 7, 6},
		{7, 1, 8},
		{3, 9, 4},
		{3, 4, 2},
		{3, 2, 6},
		{3, 6, 8},
		{3, 8, 9},
		{4, 9, 5},
		{2, 4, 11},
		{6, 2, 10},
		{8, 6, 7},
		{9, 8, 1},
	}
	var s solid
	for _, i := range f {
		s = append(s, [3]r3.Vec{v[i[0]], v[i[1]], v[i[2]]})
	}
	return s.subdivided(cuts).moved(func(p r3.Vec) r3.Vec { return r3.Scale(radius, r3.Unit(p)) })
}

// The sagitta of a regular n-gon of radius 1 is 1 - cos(pi/n): closed form.
func TestTurnedSurfaces(t *testing.T) {
	sagitta := func(r float64, n int) float64 { return r * (1 - math.Cos(math.Pi/float64(n))) }
	cone := lathe([][2]float64{{0, 0}, {6, 0}, {2, 10}, {0, 10}}, 24, 0.3, turn)
	slope := 10 / math.Hypot(4*math.Cos(math.Pi/24), 10) // of a facet between its chords
	round := lathe([][2]float64{{0, -5}, {4, -5}, {4, 5}, {0, 5}}, 20, 60*degree, 240*degree)
	key := joined(pin(4, -5, 5, 24, 0), box(3, 6, -1, 1, -2, 2))
	tilt, tilted := oblique(r3.Vec{X: 3, Y: 2, Z: 1}, r3.Vec{X: 1, Y: -2, Z: 0.5})
	for _, c := range []struct {
		name    string
		s       solid
		axis    kinematics.Axis
		share   float64 // of the triangles that are turned, -1 for "almost all"
		sagitta float64
	}{
		{"pin, 24", pin(4, -5, 5, 24, 0.1), zAxis, 1, sagitta(4, 24)},
		{"pin, 17", pin(4, -5, 5, 17, 0.1), zAxis, 1, sagitta(4, 17)},
		{"pin, 12", pin(4, -5, 5, 12, 0), zAxis, 1, sagitta(4, 12)},
		{"pin, 720", pin(4, -5, 5, 720, 0), zAxis, 1, sagitta(4, 720)},
		{"pin, 24, cut fine", pin(4, -5, 5, 24, 0.1).subdivided(4), zAxis, 1, sagitta(4, 24)},
		{"pin, 24, about an oblique axis", pin(4, -5, 5, 24, 0.1).moved(tilt), tilted, 1, sagitta(4, 24)},
		{"tube, 32", tube(4, 6, -5, 5, 32, 0), zAxis, 1, sagitta(6, 32)},
		{"cone, 24", cone, zAxis, 1, sagitta(6, 24) * slope},
		{"octagon: its ends only", pin(4, -5, 5, 8, 0), zAxis, 16. / 32, 0},
		{"square: its ends only", box(-3, 3, -3, 3, -5, 5), zAxis, 4. / 12, 0},
		{"half round: all but its ends", round, zAxis, 80. / 84, sagitta(4, 30)},
		{"pin with a square key", key, zAxis, 100. / 108, sagitta(4, 24)},
		{"narrow box end is no round", box(5, 50, -1, 1, -4, 4), zAxis, 4. / 12, 0},
		{"eccentric pin", pin(4, -5, 5, 32, 0).shifted(0.5, 0, 0), zAxis, 0.5, 0},
		{"eccentric by less than the sagitta", pin(4, -5, 5, 32, 0).shifted(0.005, 0, 0), zAxis, 1, -1},
		{"tilted pin", pin(4, -5, 5, 32, 0), kinematics.Axis{Dir: r3.Unit(r3.Vec{X: 0.05, Z: 1})}, 0, 0},
		{"ball without rings", icosphere(5, 12), zAxis, -1, -1},
	} {
		share, sag := turnedShare(t, c.s, c.axis)
		if c.share >= 0 && math.Abs(share-c.share) > 1e-12 || c.share < 0 && share < 0.95 {
			t.Errorf("%s: %.4g of the triangles turned, want %.4g", c.name, share, c.share)
		}
		if c.sagitta >= 0 && math.Abs(sag-c.sagitta) > 1e-6*c.sagitta+1e-12 {
			t.Errorf("%s: sagitta %.9g, want %.9g", c.name, sag, c.sagitta)
		}
	}
}

// Of an eccentric ball only what turning keeps within the sagitta is turned:
// small arcs on the side the centre is shifted to.
func TestEccentricBall(t *testing.T) {
	x, f, _ := sideOf(t, icosphere(5, 12).shifted(1, 0, 0), zAxis)
	for i, n := range x.turned {
		p := x.corners(int32(i))
		// The normal of the ball misses the axis by the part of the shift across it.
		miss := math.Abs(p[0].Y) / radius(p[0])
		if n >= 0 && miss > 0.25 && radius(p[0])/f.scale > 1 {
			t.Errorf("triangle %d at %v is turned", i, f.model(p[0]))
		}
	}
}

// What is active is what may newly collide: nothing of a whole pin; of a half
// pin the flat that cuts it and the two edges where the round ends.
func TestActiveFeatures(t *testing.T) {
	count := func(s solid) (faces, edges, corners int) {
		x, _, _ := sideOf(t, s, zAxis)
		edge, corner := make(map[int32]bool), make(map[int32]bool)
		for i, a := range x.active {
			for k := range 3 {
				if a&(edgeBit<<k) != 0 {
					edge[x.mesh.Topology().TriEdges[i][k]] = true
				}
				if a&(cornerBit<<k) != 0 {
					corner[x.tris[i][k]] = true
				}
			}
			if a&faceBit != 0 {
				faces++
			}
		}
		return faces, len(edge), len(corner)
	}
	sheet := func(a0, arc float64, n int) solid { // an open arc of a cylinder
		var s solid
		for i := range n {
			at := func(k int, z float64) r3.Vec {
				sin, cos := math.Sincos(a0 + arc*float64(k)/float64(n))
				return r3.Vec{X: 4 * cos, Y: 4 * sin, Z: z}
			}
			s = append(s, quad(at(i, -5), at(i+1, -5), at(i+1, 5), at(i, 5))...)
		}
		return s
	}
	disc := func(n int) solid { // an open disc
		var s solid
		for i := range n {
			a, b := turn*float64(i)/float64(n), turn*float64(i+1)/float64(n)
			s = append(s, [3]r3.Vec{{Z: 1}, {X: 4 * math.Cos(a), Y: 4 * math.Sin(a), Z: 1}, {X: 4 * math.Cos(b), Y: 4 * math.Sin(b), Z: 1}})
		}
		return s
	}
	half := lathe([][2]float64{{1, -5}, {4, -5}, {4, 5}, {1, 5}}, 20, 0, 180*degree)
	for _, c := range []struct {
		name                   string
		s                      solid
		faces, edges, corners_ int
	}{
		{"pin", pin(4, -5, 5, 24, 0), 0, 0, 0},
		{"tube", tube(4, 6, -5, 5, 17, 0.1), 0, 0, 0},
		{"box", box(5, 9, -2, 2, -1, 1), 8, 16, 8}, // faces along the axis, with their 4 diagonals
		{"half a tube: two ends of 4 edges and a diagonal", half, 4, 10, 8},
		{"whole sheet", sheet(0, turn, 24), 0, 0, 0},
		{"arc of a sheet: its two end edges", sheet(0, 2, 10), 0, 2, 4},
		{"open disc", disc(24), 0, 0, 0},
		{"open hexagon: its rim", disc(6), 0, 6, 6},
	} {
		if f, e, k := count(c.s); f != c.faces || e != c.edges || k != c.corners_ {
			t.Errorf("%s: %d faces, %d edges, %d corners active, want %d, %d, %d", c.name, f, e, k, c.faces, c.edges, c.corners_)
		}
	}
}

// A corner cut into the middle of a facet lies inside the round by the height
// of the chord there, a corner of the facet itself not at all.
func TestSlackOfCutCorners(t *testing.T) {
	// A pin's wall with one column cut away over half its width, closed by a
	// radial wall that starts on the chord.
	const n = 24
	var s solid
	at := func(k float64, r, z float64) r3.Vec {
		i := math.Floor(k)
		a, b := turn*i/n, turn*(i+1)/n
		p := r3.Vec{X: r * math.Cos(a), Y: r * math.Sin(a), Z: z}
		q := r3.Vec{X: r * math.Cos(b), Y: r * math.Sin(b), Z: z}
		return r3.Add(p, r3.Scale(k-i, r3.Sub(q, p)))
	}
	for i := range n - 1 {
		k := float64(i)
		s = append(s, quad(at(k, 4, -1), at(k+1, 4, -1), at(k+1, 4, 1), at(k, 4, 1))...)
	}
	k := n - 1.
	s = append(s, quad(at(k, 4, -1), at(k+0.5, 4, -1), at(k+0.5, 4, 1), at(k, 4, 1))...)
	s = append(s, quad(at(k+0.5, 4, -1), at(k+0.5, 1, -1), at(k+0.5, 1, 1), at(k+0.5, 4, 1))...)
	x, f, _ := sideOf(t, s, zAxis)
	want := 4 * (1 - math.Cos(math.Pi/n))
	for i := range x.tris {
		onWall := math.Abs(x.normal[i].Z) < 0.5 && x.turned[i] < 0
		if !onWall || x.slack[i] == 0 {
			continue
		}
		if got := float64(x.slack[i]) / f.scale; math.Abs(got-want) > 1e-6 {
			t.Errorf("triangle %d: slack %.9g, want %.9g", i, got, want)
		}
		return
	}
	t.Error("no corner of the cut has any slack")
}

// However a ring is turned, shifted along its axis and scaled, it is turned.
func TestTurnedWhateverTheFrame(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(12, 60).Draw(rt, "n")
		f, _ := drawMove(rt)
		s := tube(4, 6, -3, 5, n, rapid.Float64Range(0, 6).Draw(rt, "phase")).moved(f)
		if share, _ := turnedShare(t, s, movedAxis(zAxis, f)); share != 1 {
			rt.Fatalf("%.4g of the ring is turned", share)
		}
	})
}
