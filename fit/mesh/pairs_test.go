package mesh_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

func triangleOf(m *mesh.Mesh, i int, move func(r3.Vec) r3.Vec) (c [3]r3.Vec) {
	c[0], c[1], c[2] = m.Corners(i)
	for k := range c {
		c[k] = move(c[k])
	}
	return c
}

func TestDistanceClosedForm(t *testing.T) {
	a := meshtest.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})
	b := meshtest.Box(r3.Vec{X: -1, Y: -1, Z: -1}, r3.Vec{X: 1, Y: 1, Z: 1})
	small := meshtest.Box(r3.Vec{X: -0.1, Y: -0.1, Z: -0.1}, r3.Vec{X: 0.1, Y: 0.1, Z: 0.1})
	turn := turning(r3.Vec{Z: 1}, math.Pi/4, r3.Vec{X: 5, Y: 0.5, Z: 0.5})
	tests := []struct {
		name  string
		b     *mesh.Mesh
		xAB   mesh.Rigid
		limit float64
		want  float64 // negative: none
	}{
		{"face to face", b, mesh.Rigid{X: r3.Vec{X: 1}, Y: r3.Vec{Y: 1}, Z: r3.Vec{Z: 1}, T: r3.Vec{X: 4}}, 9, 2},
		{"edge to face", b, turn, 9, 4 - math.Sqrt2},
		{"corner to corner", b, mesh.Rigid{X: r3.Vec{X: 1}, Y: r3.Vec{Y: 1}, Z: r3.Vec{Z: 1}, T: r3.Vec{X: 3, Y: 4, Z: 2}}, 9, math.Sqrt(1 + 4)},
		{"beyond the limit", b, turn, 2, -1},
		{"at the limit", b, mesh.Rigid{X: r3.Vec{X: 1}, Y: r3.Vec{Y: 1}, Z: r3.Vec{Z: 1}, T: r3.Vec{X: 4}}, 2, -1},
		{"overlap", b, mesh.Identity(), 9, 0},
		{"one inside the other", small, mesh.Rigid{X: r3.Vec{X: 1}, Y: r3.Vec{Y: 1}, Z: r3.Vec{Z: 1}, T: r3.Vec{X: 0.5, Y: 0.5, Z: 0.3}}, 9, 0.2},
		{"no limit", b, turn, math.Inf(1), 4 - math.Sqrt2},
		{"nothing is below 0", b, mesh.Identity(), 0, -1},
		{"not a number", b, turn, math.NaN(), -1},
	}
	for _, test := range tests {
		g, ok := mesh.Distance(a.BVH(), test.b.BVH(), test.xAB, test.limit)
		if ok != (test.want >= 0) {
			t.Errorf("%s: found %v", test.name, ok)
		}
		if ok {
			wantNear(t, test.name, g.Distance, test.want, 1e-14)
		}
	}
}

// TestDistanceOracle compares Distance and PairsAt with all pairs.
func TestDistanceOracle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawSoup(t, 15), drawSoup(t, 15)
		x := drawRigid(t, rapid.SampledFrom([]float64{0, 5, 20}).Draw(t, "size"))
		if rapid.Bool().Draw(t, "still") {
			x = mesh.Identity()
		}
		still := mesh.Identity()
		within := rapid.Float64Range(0, 3).Draw(t, "within")
		want := math.Inf(1)
		var near [][2]int
		for i := range a.Triangles() {
			for j := range b.Triangles() {
				d, _, _ := mesh.TriangleDistance(triangleOf(a, i, still.Apply), triangleOf(b, j, x.Apply))
				want = min(want, d)
				if d <= within {
					near = append(near, [2]int{i, j})
				}
			}
		}
		g, ok := mesh.Distance(a.BVH(), b.BVH(), x, math.Inf(1))
		wantEqual(t, "found", ok, !math.IsInf(want, 1))
		if ok {
			wantNear(t, "distance", g.Distance, want, 1e-12)
			d, _, _ := mesh.TriangleDistance(triangleOf(a, g.TriA, still.Apply), triangleOf(b, g.TriB, x.Apply))
			wantNear(t, "of the pair", d, want, 1e-12)
			wantNear(t, "points", r3.Norm(r3.Sub(g.PA, g.PB)), want, 1e-12)
		}
		var got [][2]int
		mesh.PairsAt(a.BVH(), b.BVH(), x, within, func(i, j int) bool {
			got = append(got, [2]int{i, j})
			return true
		})
		slices.SortFunc(got, func(a, b [2]int) int { return slices.Compare(a[:], b[:]) })
		if !slices.Equal(got, near) {
			t.Fatalf("pairs %v, want %v", got, near)
		}
	})
}

// TestPairsOfPinInBore checks a pin of the bore's radius: with the same
// segments they touch all round.
func TestPairsOfPinInBore(t *testing.T) {
	const n = 24
	pin := meshtest.Cylinder(1, -2, 2, n, 1, true)
	bore := meshtest.Cylinder(1, -1, 1, n, 1, false)
	pinTris, boreTris := map[int]bool{}, map[int]bool{}
	mesh.Pairs(pin.BVH(), bore.BVH(), 1e-9, func(i, j int) bool {
		pinTris[i], boreTris[j] = true, true
		return true
	})
	wantEqual(t, "pin", len(pinTris), 2*n)
	wantEqual(t, "bore", len(boreTris), 2*n)
	calls := 0
	mesh.Pairs(pin.BVH(), bore.BVH(), 1e-9, func(int, int) bool {
		calls++
		return calls < 3
	})
	wantEqual(t, "calls", calls, 3)
	apart := turning(r3.Vec{Z: 1}, 0, r3.Vec{X: 5})
	mesh.PairsAt(pin.BVH(), bore.BVH(), apart, 2.9, func(int, int) bool {
		t.Error("a pair within 2.9 where 3 lie between")
		return false
	})
}

func TestRigid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, p := drawRigid(t, 10), drawVec(t, 10, "p")
		wantNear(t, "there and back", r3.Norm(r3.Sub(x.Inverse().Apply(x.Apply(p)), p)), 0, 1e-12)
		wantNear(t, "length", r3.Norm(x.Turn(p)), r3.Norm(p), 1e-12)
		wantNear(t, "shift", r3.Norm(r3.Sub(r3.Sub(x.Apply(p), x.Turn(p)), x.T)), 0, 1e-12)
	})
	quarter := turning(r3.Vec{Z: 1}, math.Pi/2, r3.Vec{X: 1})
	wantNear(t, "quarter turn", r3.Norm(r3.Sub(quarter.Apply(r3.Vec{X: 2}), r3.Vec{X: 1, Y: 2})), 0, 1e-15)
}

func TestModel(t *testing.T) {
	sheet := meshtest.Grid(3, 2, 1, 1) // a flat box still counts
	m := mesh.Model{Parts: []mesh.Part{{Name: "arm", Mesh: sheet}, {Name: "none", Mesh: mesh.Join()}, {Name: "hub", Mesh: meshtest.Box(r3.Vec{X: -1}, r3.Vec{Y: 1, Z: 1})}}}
	wantEqual(t, "bounds", m.Bounds(), r3.Box{Min: r3.Vec{X: -1}, Max: r3.Vec{X: 3, Y: 2, Z: 1}})
	wantEqual(t, "hub", m.Find("hub"), 2)
	wantEqual(t, "other", m.Find("other"), -1)
	wantEqual(t, "no parts", (&mesh.Model{}).Bounds(), r3.Box{})
	for unit, want := range map[mesh.Unit]float64{mesh.Millimetre: 1, mesh.Centimetre: 10, mesh.Metre: 1000, mesh.Inch: 25.4, "ell": 0} {
		wantEqual(t, string(unit), unit.Millimetres(), want)
	}
}
