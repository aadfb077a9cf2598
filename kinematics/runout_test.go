package kinematics

import (
	"context"
	"math"
	"reflect"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// all is the housing whose one patch is the whole mesh.
func all(m *mesh.Mesh) Housing {
	tris := make([]int32, len(m.Triangles()))
	for i := range tris {
		tris[i] = int32(i)
	}
	return Housing{Mesh: m, Patches: [][]int32{tris}}
}

// patches is the housing of the mesh's smooth patches.
func patches(m *mesh.Mesh) Housing {
	label, n := m.Topology().SmoothPatches(deg(65))
	h := Housing{Mesh: m, Patches: make([][]int32, n)}
	for t, l := range label {
		h.Patches[l] = append(h.Patches[l], int32(t))
	}
	return h
}

func measure(t failer, h Housing, axis Axis, o RunoutOptions) Runout {
	t.Helper()
	r, err := MeasureRunout(context.Background(), h, axis, o)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return r
}

var zAxis = Axis{Dir: r3.Vec{Z: 1}}

// disc is a flat annulus or disc about the z axis at z = 0 of rings of n
// vertices at the given radii.
func disc(t failer, n int, radii []float64, move func(r3.Vec) r3.Vec) *mesh.Mesh {
	b := mesh.NewBuilder()
	var last []int32
	for _, r := range radii {
		ring := make([]int32, n)
		for i := range ring {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			ring[i] = b.Vertex(move(v3(r*c, r*s, 0)))
		}
		for i := range last {
			j := (i + 1) % n
			b.Face(last[i], ring[i], ring[j], last[j])
		}
		last = ring
	}
	m, _, err := b.Build(mesh.Options{Weld: -1})
	if err != nil {
		t.Fatalf("%v", err)
	}
	return m
}

// Sagitta of a regular polygon: r (1 - cos(pi/n)) (closed form). A true cylinder
// has no runout however coarse it is.
func TestRunoutOfTrueCylinder(t *testing.T) {
	for _, c := range []struct {
		n       int
		sagitta float64
	}{
		{6, 0.133974596215561},
		{8, 0.0761204674887132},
		{12, 0.0340741737109317},
		{17, 0.0170269003160982},
		{32, 0.00481527332780311},
		{64, 0.00120454379482761},
		{96, 0.000535412523634356},
	} {
		for _, m := range []*mesh.Mesh{
			meshtest.Cylinder(1, -2, 2, c.n, 1, true),
			meshtest.Triangulated(meshtest.Cylinder(1, -2, 2, c.n, 3, true)),
		} {
			r := measure(t, patches(m), zAxis, RunoutOptions{})
			if len(r.Surfaces) != 3 {
				t.Fatalf("%d surfaces, want side and two caps", len(r.Surfaces))
			}
			for _, v := range []float64{r.CircularRadial, r.TotalRadial, r.CircularAxial, r.TotalAxial} {
				near(t, "runout", v, 0, 4e-16)
			}
			near(t, "sagitta", r.Sagitta, c.sagitta, 5e-16)
			for _, s := range r.Surfaces {
				rings := 1
				if s.Direction == Radial {
					rings = len(m.Vertices()) / c.n
					nearVec(t, "eccentricity", s.Eccentricity, r3.Vec{}, 1e-15)
				}
				if len(s.Stations) != rings || s.Stations[0].Count != c.n {
					t.Errorf("n = %d: %d %s stations, want %d, of %d points", c.n, len(s.Stations), s.Direction, rings, s.Stations[0].Count)
				}
				near(t, "arc", s.Arc, 2*math.Pi, 1e-13)
				near(t, "tilt", s.Tilt, 0, 1e-15)
			}
		}
	}
}

// A cylinder parallel to the joint axis at distance e: circular and total radial
// runout are 2 e exactly.
func TestRunoutOfEccentricCylinder(t *testing.T) {
	const e = 0.35
	m := meshtest.Cylinder(10, 0, 30, 48, 2, false, Translation(v3(e, 0, 0)).Apply)
	r := measure(t, all(m), zAxis, RunoutOptions{})
	near(t, "circular", r.CircularRadial, 0.7, 1e-14)
	near(t, "total", r.TotalRadial, 0.7, 1e-14)
	s := r.Surfaces[0]
	nearVec(t, "eccentricity", s.Eccentricity, v3(e, 0, 0), 1e-14)
	near(t, "tilt", s.Tilt, 0, 1e-15)
	for _, st := range s.Stations {
		near(t, "roundness", st.Roundness, 0, 1e-14)
		near(t, "radius", st.Radius, 10, 1e-14)
		nearVec(t, "centre", st.Centre, v3(e, 0, st.Level), 1e-14)
		near(t, "high spot at angle 0", wrap(st.High.Angle), 0, 1e-15)
		near(t, "low spot opposite", st.Low.Angle, math.Pi, 1e-15)
		near(t, "high", st.High.Value, 10.35, 1e-14)
	}
	if !math.IsNaN(r.CircularAxial) || !math.IsNaN(r.TotalAxial) {
		t.Errorf("axial runout of a surface without faces: %v, %v", r.CircularAxial, r.TotalAxial)
	}
}

// tilted is a cylinder about an axis that leans by a toward +x and crosses the z
// axis at the origin.
func tilted(r, half float64, n, rings int, a float64) *mesh.Mesh {
	return meshtest.Cylinder(r, -half, half, n, rings, false, Rotation(Axis{Dir: v3(0, 1, 0)}, a).Apply)
}

// The section at height z of a cylinder tilted by a is an ellipse: largest
// distance |z| tan a + r/cos a, smallest sqrt(r^2 - z^2) where |z| <= r sin a,
// else r/cos a - |z| tan a (closed form, checked by dense sampling).
func TestRunoutOfTiltedCylinder(t *testing.T) {
	for _, c := range []struct {
		r, a, z, high, low, runout, tol float64
	}{
		{10, 2, 0, 10.00609544298822, 10.0, 0.00609544298821776, 1e-13},
		// The smallest distance lies between generators: second order in their step.
		{10, 2, 0.2, 10.01307959688657, 9.99799979995999, 0.0150797969265773, 1e-8},
		{10, 2, 20, 10.70451083282317, 9.307680053153263, 1.39683077966991, 1e-13},
		{25, 4, 30, 27.15885181033462, 22.96324309372399, 4.19560871661062, 1e-13},
		{25, 4, 1, 25.13097426397281, 24.97999199359359, 0.150982270379221, 2e-7},
	} {
		for _, rings := range []int{1, 5} {
			m := tilted(c.r, 45, 720, rings, deg(c.a))
			r := measure(t, all(m), zAxis, RunoutOptions{Heights: []float64{c.z}})
			st := r.Surfaces[0].Stations[0]
			near(t, "level", st.Level, c.z, 1e-14)
			near(t, "largest distance", st.High.Value, c.high, 5e-14)
			near(t, "smallest distance", st.Low.Value, c.low, c.tol)
			near(t, "circular runout", r.CircularRadial, c.runout, c.tol)
			near(t, "arc", st.Arc, 2*math.Pi, 1e-13)
			nearVec(t, "centre", st.Centre, v3(c.z*math.Tan(deg(c.a)), 0, c.z), 1e-12)
		}
	}
	// Total over z = -15..15 is 2 h tan a.
	m := tilted(8, 20, 64, 1, deg(4))
	r := measure(t, all(m), zAxis, RunoutOptions{Heights: []float64{-15, 15}})
	near(t, "total, 4 deg", r.TotalRadial, 2.09780435830531, 1e-13)
}

// With the mesh's own vertices, at the two ends of the cylinder only: the
// largest section that goes all round passes through the ring's innermost
// vertex, |z| = L cos a - r sin a, and the total over all vertices is 2 L sin a.
func TestRunoutOfTiltedCylinderAtItsVertices(t *testing.T) {
	const r0, half = 8.0, 15.0
	a := deg(4)
	m := tilted(r0, half, 64, 1, a)
	r := measure(t, all(m), zAxis, RunoutOptions{})
	z := half*math.Cos(a) - r0*math.Sin(a)
	near(t, "circular", r.CircularRadial, 2*z*math.Tan(a), 0.01)
	near(t, "total", r.TotalRadial, 2*half*math.Sin(a), 1e-13)
	s := r.Surfaces[0]
	near(t, "tilt (deg)", Degrees(s.Tilt), 4, 1e-2)
	near(t, "sagitta", r.Sagitta, r0*(1-math.Cos(math.Pi/64)), 1e-3)
	partial := 0
	for _, st := range s.Stations {
		if !st.Complete {
			partial++
			if st.Arc >= 0.95*2*math.Pi {
				t.Errorf("station at %v covers %v but is called incomplete", st.Level, st.Arc)
			}
		}
	}
	if partial == 0 {
		t.Error("no section near the slanted ends is marked as incomplete")
	}
}

// A round with k odd lobes, r + A cos k phi, moved by e along a lobe: 2 (A + e).
func TestRunoutOfLobedRound(t *testing.T) {
	const amplitude, e = 0.05, 0.2
	lobes := func(p r3.Vec) r3.Vec {
		phi := math.Atan2(p.Y, p.X)
		k := 1 + amplitude*math.Cos(3*phi)/5
		return v3(p.X*k+e, p.Y*k, p.Z)
	}
	m := meshtest.Cylinder(5, 0, 4, 360, 1, false, lobes)
	r := measure(t, all(m), zAxis, RunoutOptions{})
	near(t, "circular", r.CircularRadial, 0.5, 1e-14)
	near(t, "total", r.TotalRadial, 0.5, 1e-14)
	st := r.Surfaces[0].Stations[0]
	// The least-squares circle of a lobed round is centred on it to first order in
	// the amplitude; what is left is the lobes, 2 A peak to valley.
	nearVec(t, "centre", st.Centre, v3(e, 0, 0), 1e-12)
	near(t, "roundness", st.Roundness, 2*amplitude, 1e-12)
}

// A plane face tilted by a, seen at radius q: circular axial runout 2 q tan a,
// total over q <= qmax 2 qmax tan a.
func TestRunoutOfTiltedFace(t *testing.T) {
	a := deg(1)
	lift := func(p r3.Vec) r3.Vec {
		return r3.Add(v3(0, 0, 7), Rotation(Axis{Dir: v3(0, 1, 0)}, a).Apply(p))
	}
	m := disc(t, 60, []float64{5, 20, 45}, lift)
	r := measure(t, all(m), zAxis, RunoutOptions{Radii: []float64{10, 40}})
	near(t, "circular at 40", r.CircularAxial, 1.39640519425741, 1e-13)
	near(t, "total to 40", r.TotalAxial, 1.39640519425741, 1e-13)
	s := r.Surfaces[0]
	near(t, "circular at 10", s.Stations[0].Circular, 1.39640519425741/4, 1e-13)
	near(t, "tilt (deg)", Degrees(s.Tilt), 1, 1e-12)
	nearVec(t, "normal", s.Own.Dir, v3(math.Sin(a), 0, math.Cos(a)), 1e-14)
	nearVec(t, "where the axis meets the face", s.Own.Point, v3(0, 0, 7), 1e-13)
	near(t, "high", s.Stations[1].High.Value, 7+40*math.Tan(a), 1e-13)
	near(t, "sagitta of a flat face", s.Sagitta, 0, 0)
	if s.Direction != Axial || s.Worst != 1 {
		t.Errorf("direction %s, worst %d", s.Direction, s.Worst)
	}
	// At its own vertices, to the rim. Rings are ellipses to the axis: the section
	// through the innermost vertices, at 45 cos a, goes all round.
	r = measure(t, all(m), zAxis, RunoutOptions{})
	near(t, "total at vertices", r.TotalAxial, 90*math.Sin(a), 1e-13)
	near(t, "circular at vertices", r.CircularAxial, 90*math.Sin(a), 1e-13)
}

// A cap has vertices on its rim only and facets that reach across the axis; a
// section of any radius goes through them, and finds the highest and lowest
// points of the face wherever the facets' edges are.
func TestRunoutOfTiltedCap(t *testing.T) {
	a := deg(1.5)
	for _, n := range []int{5, 16, 61} {
		cap := meshtest.Cylinder(12, -1, 0, n, 1, true, Rotation(Axis{Dir: unit(v3(1, 2, 0))}, a).Apply, Translation(v3(0.3, 0.1, 0)).Apply)
		for _, m := range []*mesh.Mesh{cap, meshtest.Triangulated(cap)} {
			r := measure(t, patches(m), zAxis, RunoutOptions{Radii: []float64{0.5, 3, 9}})
			near(t, "circular", r.CircularAxial, 18*math.Tan(a), 1e-13)
			for _, s := range r.Surfaces {
				if s.Direction == Axial {
					near(t, "tilt (deg)", Degrees(s.Tilt), 1.5, 1e-12)
					near(t, "arc", s.Stations[0].Arc, 2*math.Pi, 1e-12)
				}
			}
		}
	}
}

// A housing off its hinge by 0.8 and 1.5 degrees, as a whole: the surfaces' own
// axis is found and the correction brings the joint onto it.
func TestRunoutFindsTheHousing(t *testing.T) {
	x := Translation(v3(0, 0.8, 3)).Mul(Rotation(Axis{Dir: v3(1, 0, 0)}, deg(1.5)))
	own := x.Axis(zAxis)
	m := meshtest.Cylinder(12, -10, 10, 64, 8, true, x.Apply)
	h := patches(m)
	joint := Frame{Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}
	r := measure(t, h, joint.Axis(), RunoutOptions{Zero: joint.Reach})
	for _, s := range r.Surfaces {
		near(t, "tilt (deg)", Degrees(s.Tilt), 1.5, 1e-3)
		near(t, "angle between own axis and truth", AxisErrorOf(s.Own, own).Angle, 0, 1e-5)
		if s.Direction == Radial {
			near(t, "own axis passes the housing's centre", s.Own.Distance(own.Point), 0, 1e-4)
		}
	}
	if r.CircularRadial < 1.6 || r.CircularAxial < 0.6 {
		t.Errorf("runout %v radial and %v axial of a housing off its hinge", r.CircularRadial, r.CircularAxial)
	}
	// Corrected by the datum, it runs true to rounding.
	fixed := CorrectionOf(joint, own).Apply(joint)
	r = measure(t, h, fixed.Axis(), RunoutOptions{})
	for _, v := range []float64{r.CircularRadial, r.TotalRadial, r.CircularAxial, r.TotalAxial} {
		near(t, "runout after correction", v, 0, 1e-13)
	}
}

func TestRunoutOfPartialRound(t *testing.T) {
	for _, c := range []struct {
		steps int // of 72 segments
		short bool
	}{{72, false}, {54, false}, {35, true}, {10, true}} {
		m := meshtest.Cylinder(10, 0, 5, 72, 1, false, Translation(v3(0.1, 0, 0)).Apply)
		h := all(m)
		h.Patches[0] = h.Patches[0][:2*c.steps]
		r := measure(t, h, zAxis, RunoutOptions{})
		s := r.Surfaces[0]
		near(t, "arc (deg)", Degrees(s.Arc), 5*float64(c.steps), 1.2)
		if s.Short != c.short {
			t.Errorf("%d steps: short is %v", c.steps, s.Short)
		}
		if c.steps >= 18 {
			nearVec(t, "eccentricity", s.Eccentricity, v3(0.1, 0, 0), 1e-11)
		} else if Finite(s.Eccentricity) {
			t.Errorf("eccentricity %v told from %d degrees", s.Eccentricity, 5*c.steps)
		} else {
			near(t, "radius of a short arc", s.Stations[0].Radius, 10.05, 0.05)
		}
	}
}

// Staggered rings have no edge along the axis; the chords between them lie deep
// inside the round, and none of that may show as runout.
func TestRunoutBetweenStaggeredRings(t *testing.T) {
	const n = 12
	b := mesh.NewBuilder()
	var last []int32
	for k := range 4 {
		ring := make([]int32, n)
		for i := range ring {
			s, c := math.Sincos(2 * math.Pi * (float64(i) + 0.5*float64(k)) / n)
			ring[i] = b.Vertex(v3(c, s, float64(k)))
		}
		for i := range last {
			j := (i + 1) % n
			b.Face(last[i], last[j], ring[i])
			b.Face(last[j], ring[j], ring[i])
		}
		last = ring
	}
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := measure(t, all(m), zAxis, RunoutOptions{Heights: []float64{0, 0.3, 0.5, 1, 1.7, 3}})
	near(t, "circular", r.CircularRadial, 0, 1e-14)
	near(t, "total", r.TotalRadial, 0, 1e-14)
	near(t, "sagitta", r.Sagitta, 1-math.Cos(math.Pi/n), 1e-14)
	for _, st := range r.Surfaces[0].Stations {
		if !st.Complete || st.Count < n {
			t.Errorf("section at %v: %d points, complete %v", st.Level, st.Count, st.Complete)
		}
	}
}

// A vertex that another surface's edge puts on the rim, half way along a chord,
// lies below the round by the sagitta; that is no runout.
func TestRunoutIgnoresVerticesOnChords(t *testing.T) {
	const n = 12
	b := mesh.NewBuilder()
	ring := func(z float64) []int32 {
		v := make([]int32, n)
		for i := range v {
			s, c := math.Sincos(2 * math.Pi * float64(i) / n)
			v[i] = b.Vertex(v3(c, s, z))
		}
		return v
	}
	low, high := ring(0), ring(1)
	for i := range low {
		j := (i + 1) % n
		p, q := b.Vertex(chordPoint(i, n, 0.5, 1)), b.Vertex(chordPoint(i, n, 0.3, 0))
		if i%3 == 0 {
			b.Face(low[i], q, low[j], high[j], p, high[i])
		} else {
			b.Face(low[i], low[j], high[j], high[i])
		}
	}
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range []RunoutOptions{{}, {Heights: []float64{0, 0.4, 0.7, 1}}} {
		r := measure(t, all(m), zAxis, o)
		near(t, "circular", r.CircularRadial, 0, 1e-14)
		near(t, "total", r.TotalRadial, 0, 1e-14)
		near(t, "sagitta", r.Sagitta, 1-math.Cos(math.Pi/n), 1e-14)
		near(t, "arc", r.Surfaces[0].Arc, 2*math.Pi, 1e-12)
	}
	// The ends of a partial round stand on one facet only, and count.
	h := patches(meshtest.Cylinder(1, 0, 1, n, 1, false))
	h.Patches[0] = h.Patches[0][:6]
	if got := measure(t, h, zAxis, RunoutOptions{}).Surfaces[0].Stations[0].Count; got != 4 {
		t.Errorf("%d points of three facets, want 4", got)
	}
}

// chordPoint is the point at the share s of chord i of an n-gon, at height z.
func chordPoint(i, n int, s, z float64) r3.Vec {
	at := func(i int) r3.Vec {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		return v3(cos, sin, z)
	}
	return r3.Add(r3.Scale(1-s, at(i)), r3.Scale(s, at(i+1)))
}

// A bevel is measured section by section; its slant is not runout.
func TestRunoutOfBevel(t *testing.T) {
	m := meshtest.Frustum(10, 6, 0, 4, 36, 2, false, Translation(v3(0.25, 0, 0)).Apply)
	r := measure(t, all(m), zAxis, RunoutOptions{})
	s := r.Surfaces[0]
	if s.Direction != Slanted || !math.IsNaN(s.Total) || !math.IsNaN(r.CircularRadial) {
		t.Errorf("direction %s, total %v, housing %v", s.Direction, s.Total, r.CircularRadial)
	}
	near(t, "circular", s.Circular, 0.5, 1e-14)
	nearVec(t, "eccentricity", s.Eccentricity, v3(0.25, 0, 0), 1e-14)
}

// A flange with a round bore and a square outline: the corners are partial, the
// bore is complete.
func TestRunoutOfSquareFlange(t *testing.T) {
	b := mesh.NewBuilder()
	const n = 16
	bore, rim := make([]int32, n), make([]int32, n)
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		bore[i] = b.Vertex(v3(c, s, 0))
		k := 3 / max(math.Abs(c), math.Abs(s))
		rim[i] = b.Vertex(v3(k*c, k*s, 0.01*float64(i%2)))
	}
	for i := range n {
		j := (i + 1) % n
		b.Face(bore[i], rim[i], rim[j], bore[j])
	}
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := measure(t, all(m), zAxis, RunoutOptions{})
	s := r.Surfaces[0]
	if len(s.Stations) < 2 || !s.Stations[0].Complete || s.Stations[len(s.Stations)-1].Complete {
		t.Errorf("stations: %+v", s.Stations)
	}
	near(t, "total over all vertices", r.TotalAxial, 0.01, 1e-15)
}

func TestSpread(t *testing.T) {
	for _, c := range []struct {
		low, high, n int
		want         []int
	}{
		{-1, 3, 5, []int{0, 1, 2}},
		{4, 5, 3, []int{}},
		{-1, 9, 3, []int{0, 4, 8}},
		{-1, 10, 4, []int{0, 3, 6, 9}},
		{-1, 11, 4, []int{0, 3, 7, 10}},
		{2, 10, 1, []int{6}},
		{2, 10, 2, []int{3, 9}},
	} {
		if got := spread(c.low, c.high, c.n); !slices.Equal(got, c.want) {
			t.Errorf("spread(%d, %d, %d) = %v, want %v", c.low, c.high, c.n, got, c.want)
		}
	}
}

func TestRunoutStations(t *testing.T) {
	m := tilted(5, 10, 300, 1, deg(3))
	for _, c := range []struct{ ask, most int }{{0, 2 * defaultStations}, {10, 20}, {1, 4}} {
		r := measure(t, all(m), zAxis, RunoutOptions{Stations: c.ask})
		if n := len(r.Surfaces[0].Stations); n > c.most {
			t.Errorf("%d stations, want at most %d", n, c.most)
		}
		// However few are taken, the worst section is found.
		every := measure(t, all(m), zAxis, RunoutOptions{Stations: 10000})
		near(t, "worst section", r.CircularRadial, every.CircularRadial, 1e-3*every.CircularRadial)
	}
	// Given heights are taken as they are, sorted and once.
	r := measure(t, all(m), Axis{Point: v3(0, 0, -4), Dir: v3(0, 0, 2)}, RunoutOptions{Heights: []float64{6, 2, 6, 99}})
	levels := []float64{}
	for _, st := range r.Surfaces[0].Stations {
		levels = append(levels, st.Level)
	}
	if !slices.Equal(levels, []float64{2, 6}) {
		t.Errorf("levels %v, want 2 and 6", levels)
	}
	nearVec(t, "centre at height 6", r.Surfaces[0].Stations[1].Centre, v3(2*math.Tan(deg(3)), 0, 2), 1e-12)
	// The profile starts at the direction of angle 0 and goes round by the right-hand rule.
	e := meshtest.Cylinder(5, 0, 1, 8, 1, false, Translation(v3(0, 0.5, 0)).Apply)
	p := measure(t, all(e), zAxis, RunoutOptions{Zero: v3(0, 3, 9)}).Surfaces[0].Stations[0].Profile
	near(t, "first angle", p[0].Angle, 0, 1e-15)
	near(t, "first value", p[0].Value, 5.5, 1e-15)
	if !slices.IsSortedFunc(p, func(a, b ProfilePoint) int { return int(math.Copysign(1, a.Angle-b.Angle)) }) {
		t.Errorf("profile is not by rising angle: %v", p)
	}
	if again := measure(t, all(e), zAxis, RunoutOptions{Zero: v3(0, 3, 9)}).Surfaces[0].Stations[0].Profile; !reflect.DeepEqual(p, again) {
		t.Error("the same input gives another profile")
	}
}
