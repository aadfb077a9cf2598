package find

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// lugs is the outline of a disc with four wide lugs: short arcs of its rim.
func lugs(c, axis r3.Vec, r float64, vertices int) []r3.Vec {
	x := across(axis)
	y := r3.Cross(axis, x)
	var p []r3.Vec
	for lug := range 4 {
		for i := range vertices {
			at := math.Pi/2*float64(lug) + 0.7*float64(i)/float64(vertices-1)
			rho := r
			if i == 0 || i == vertices-1 {
				rho = 1.3 * r
			}
			s, cos := math.Sincos(at)
			p = append(p, r3.Add(c, r3.Add(r3.Scale(rho*cos, x), r3.Scale(rho*s, y))))
		}
	}
	return p
}

func TestLevelShowsTheRim(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, axis, r := drawCircle(t)
		k := clean(4 * r)
		p := lugs(c, axis, r, rapid.IntRange(8, 20).Draw(t, "vertices"))
		half := len(p) / 2
		k.rest = []outline{{points: p[:half], normal: axis}, {points: p[half:], normal: axis}}
		k.ctx = t.Context()
		if err := k.levels(); err != nil || len(k.rings) != 1 {
			t.Fatalf("%d rings, %v", len(k.rings), err)
		}
		f := k.rings[0]
		if r3.Norm(r3.Sub(f.centre, c)) > 1e-6*r || lineAngle(f.axis, axis) > 1e-6 || math.Abs(f.radius-r) > 1e-6*r || f.arc > 2*math.Pi*0.8 {
			t.Errorf("%+v, want %v %v %g", f, c, axis, r)
		}
	})
}

// Grids of corners have many vertices on circles, never all the way round.
func TestLevelRefusesAGrid(t *testing.T) {
	var p []r3.Vec
	for i := range 8 {
		for j := range 5 {
			p = append(p, r3.Vec{X: 1.37 * float64(i), Y: float64(j) * float64(j)})
		}
	}
	k := clean(15)
	if r, _, ok := k.consensus(p, r3.Vec{}, r3.Vec{Z: 1}, levelTrials); ok && r.arc > math.Pi {
		t.Errorf("a circle of radius %g", r.radius)
	}
	if _, ok := k.levelRing(level{normal: r3.Vec{Z: 1}, points: p[:4]}); ok {
		t.Error("four vertices make a level's circle")
	}
}

// Planes apart are levels apart, planes alike are one whichever way they face.
func TestGatherLevels(t *testing.T) {
	z := r3.Vec{Z: 1}
	o := func(h float64, n r3.Vec) outline {
		o := outline{points: []r3.Vec{{Z: h}, {X: 1, Z: h}, {Y: 1, Z: h}}, normal: n}
		o.measure()
		return o
	}
	got := gatherLevels([]outline{o(0, z), o(1, z), o(0, r3.Scale(-1, z)), o(0, r3.Vec{X: 1})}, 1e-3)
	if len(got) != 3 || len(got[0].points) != 6 {
		t.Errorf("%d levels: %+v", len(got), got)
	}
	if want := 2*2 + 2*math.Sqrt2; math.Abs(got[0].length-want) > 1e-12 {
		t.Errorf("length %g, want %g", got[0].length, want)
	}
}

func TestTriplesDiffer(t *testing.T) {
	seen := map[[3]int]bool{}
	for _, x := range triples(10, 500) {
		if x[0] == x[1] || x[1] == x[2] || x[0] == x[2] || max(x[0], x[1], x[2]) > 9 || min(x[0], x[1], x[2]) < 0 {
			t.Fatalf("triple %v", x)
		}
		seen[x] = true
	}
	if len(seen) < 300 {
		t.Errorf("%d different triples of 720", len(seen))
	}
}

// The circle through three points of a plane, against that in space.
func TestCircleThrough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(-5, 5)
		var p [3][2]float64
		var q [3]r3.Vec
		for i := range p {
			p[i] = [2]float64{f.Draw(t, "x"), f.Draw(t, "y")}
			q[i] = r3.Vec{X: p[i][0], Y: p[i][1]}
		}
		c, ok := circleThrough(p[0], p[1], p[2])
		want, _, r, wantOK := through(q[0], q[1], q[2])
		if ok && wantOK && (math.Hypot(c[0]-want.X, c[1]-want.Y) > 1e-6*(r+1) || math.Abs(c[2]-r) > 1e-6*(r+1)) {
			t.Errorf("%v, want %v and %g", c, want, r)
		}
	})
	if _, ok := circleThrough([2]float64{0, 0}, [2]float64{1, 1}, [2]float64{2, 2}); ok {
		t.Error("a circle through points on a line")
	}
}
