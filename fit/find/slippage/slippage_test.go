package slippage_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	. "pintle/fit/find/slippage"
)

// surface samples a surface by two parameters from 0 to 1.
func surface(at func(u, v float64) (p, n r3.Vec)) []Face {
	const n = 24
	var out []Face
	for i := range n {
		for k := range n {
			p, m := at((float64(i)+0.5)/n, (float64(k)+0.5)/n)
			out = append(out, Face{p, r3.Unit(m), 1})
		}
	}
	return out
}

func plane(u, v float64) (p, n r3.Vec) { return r3.Vec{X: 4 * u, Y: 3 * v}, r3.Vec{Z: 1} }

func cylinder(u, v float64) (p, n r3.Vec) {
	s, c := math.Sincos(2 * math.Pi * u)
	return r3.Vec{X: 2 * c, Y: 2 * s, Z: 5 * v}, r3.Vec{X: c, Y: s}
}

func sphere(u, v float64) (p, n r3.Vec) {
	s, c := math.Sincos(2 * math.Pi * u)
	z := 2*v - 1
	n = r3.Vec{X: c * math.Sqrt(1-z*z), Y: s * math.Sqrt(1-z*z), Z: z}
	return r3.Scale(3, n), n
}

func cone(u, v float64) (p, n r3.Vec) {
	s, c := math.Sincos(2 * math.Pi * u)
	r := 1 + 2*v
	return r3.Vec{X: r * c, Y: r * s, Z: 3 * v}, r3.Vec{X: 3 * c, Y: 3 * s, Z: -2}
}

// thread is a helicoid, the flank of a square thread: its normal is the cross
// product of its tangents along the radius and along the helix.
func thread(pitch float64) func(u, v float64) (p, n r3.Vec) {
	return func(u, v float64) (r3.Vec, r3.Vec) {
		s, c := math.Sincos(6 * math.Pi * u)
		r := 1 + v
		return r3.Vec{X: r * c, Y: r * s, Z: 3 * pitch * u}, r3.Cross(r3.Vec{X: c, Y: s}, r3.Vec{X: -r * s, Y: r * c, Z: pitch / (2 * math.Pi)})
	}
}

// prism is three flat faces round a bar.
func prism(u, v float64) (p, n r3.Vec) {
	k := math.Floor(3 * u)
	s, c := math.Sincos(2*math.Pi*k/3 + 0.2)
	x := 2*(3*u-k) - 1
	return r3.Vec{X: c - x*s, Y: s + x*c, Z: 6 * v}, r3.Vec{X: c, Y: s}
}

func cube(u, v float64) (p, n r3.Vec) {
	k := int(6 * u)
	x, y := 2*(6*u-float64(k))-1, 2*v-1
	z := float64(1 - 2*(k%2))
	switch k / 2 {
	case 0:
		return r3.Vec{X: x, Y: y, Z: z}, r3.Vec{Z: z}
	case 1:
		return r3.Vec{X: x, Y: z, Z: y}, r3.Vec{Y: z}
	}
	return r3.Vec{X: z, Y: x, Z: y}, r3.Vec{X: z}
}

type example struct {
	at    func(u, v float64) (p, n r3.Vec)
	group Group
	pitch float64
}

// The groups of the surfaces that slip: Gelfand and Guibas 2004, table 1.
var examples = map[string]example{
	"plane": {plane, Plane, 0}, "cylinder": {cylinder, Cylinder, 0}, "sphere": {sphere, Sphere, 0},
	"surface of revolution": {cone, Turned, 0}, "linear extrusion": {prism, Extruded, 0},
	"helix": {thread(1.5), Helical, 1.5}, "left-hand helix": {thread(-1.5), Helical, -1.5}, "cube": {cube, Locked, 0},
}

func moved(faces []Face, turn r3.Rotation, shift r3.Vec, scale float64) []Face {
	out := make([]Face, len(faces))
	for i, f := range faces {
		out[i] = Face{r3.Add(r3.Scale(scale, turn.Rotate(f.At)), shift), turn.Rotate(f.Normal), scale * scale * f.Area}
	}
	return out
}

func angleOf(a, b r3.Vec) float64 { return math.Atan2(r3.Norm(r3.Cross(a, b)), math.Abs(r3.Dot(a, b))) }

// Every group is found, with its axis, in any place, unit and pose.
func TestGroups(t *testing.T) {
	for name, e := range examples {
		t.Run(name, func(t *testing.T) {
			faces := surface(e.at)
			rapid.Check(t, func(t *rapid.T) {
				one := rapid.Float64Range(-1, 1)
				turn := r3.NewRotation(math.Pi*one.Draw(t, "turn"), r3.Vec{X: one.Draw(t, "x"), Y: one.Draw(t, "y"), Z: 1})
				scale := rapid.SampledFrom([]float64{1e-3, 1, 25.4, 1e3}).Draw(t, "scale")
				shift := r3.Scale(20*scale, r3.Vec{X: one.Draw(t, "dx"), Y: one.Draw(t, "dy"), Z: one.Draw(t, "dz")})
				f, err := Of(moved(faces, turn, shift, scale), 0)
				if err != nil || f.Group != e.group {
					t.Fatalf("%+v, %v, want %s", f, err, e.group)
				}
				if math.Abs(f.Pitch-scale*e.pitch) > 1e-6*scale {
					t.Errorf("pitch %g, want %g", f.Pitch, scale*e.pitch)
				}
				if f.Axis != (r3.Vec{}) && angleOf(f.Axis, turn.Rotate(r3.Vec{Z: 1})) > 1e-6 {
					t.Errorf("axis %v", f.Axis)
				}
				if f.Group == Cylinder || f.Group == Turned || f.Group == Helical || f.Group == Sphere {
					d := r3.Sub(f.Origin, shift)
					if f.Group != Sphere {
						d = r3.Cross(d, f.Axis)
					}
					if r3.Norm(d) > 1e-6*scale {
						t.Errorf("%g beside the axis", r3.Norm(d)/scale)
					}
				}
				if f.Rms > 1e-6 {
					t.Errorf("speed across the faces %g", f.Rms)
				}
			})
		})
	}
}

// A surface with noise is still told, up to the noise.
func TestNoise(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for name, e := range examples {
		faces := surface(e.at)
		for i := range faces {
			faces[i].Normal = r3.Unit(r3.Add(faces[i].Normal, r3.Scale(0.005, r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})))
		}
		if f, err := Of(faces, 0); err != nil || f.Group != e.group || f.Axis != (r3.Vec{}) && angleOf(f.Axis, r3.Vec{Z: 1}) > 0.02 {
			t.Errorf("%s: %+v, %v", name, f, err)
		}
	}
}

// A motion of the group keeps the whole surface, another one does not.
func TestKept(t *testing.T) {
	z := r3.Vec{Z: 1}
	for _, c := range []struct {
		name string
		m    Motion
		all  bool
	}{
		{"plane", About(r3.Vec{X: 7}, z), true},
		{"plane", Along(r3.Vec{X: 0.6, Y: 0.8}), true},
		{"plane", Along(z), false},
		{"cylinder", About(r3.Vec{Z: 3}, z), true},
		{"cylinder", Along(z), true},
		{"cylinder", About(r3.Vec{X: 0.5}, z), false},
		{"sphere", About(r3.Vec{}, r3.Vec{X: 1}), true},
		{"sphere", Along(z), false},
		{"surface of revolution", About(r3.Vec{}, z), true},
		{"surface of revolution", Helix(r3.Vec{}, z, 4), false},
		{"helix", Helix(r3.Vec{}, z, 1.5), true},
		{"helix", Helix(r3.Vec{}, z, -1.5), false},
		{"linear extrusion", Along(z), true},
		{"linear extrusion", About(r3.Vec{}, z), false},
	} {
		k := Kept(surface(examples[c.name].at), c.m, 0.05)
		if c.all && k < 1 || !c.all && k > 0.6 || math.IsNaN(k) {
			t.Errorf("%s: %+v keeps %g", c.name, c.m, k)
		}
	}
	if k := Kept(nil, About(r3.Vec{}, z), 0.1); !math.IsNaN(k) {
		t.Errorf("no faces keep %g", k)
	}
}

// Helix is a turn with a slide of its pitch for every full one.
func TestSpeed(t *testing.T) {
	m := Helix(r3.Vec{X: 1}, r3.Vec{Z: 1}, 2*math.Pi)
	if v := m.Speed(r3.Vec{X: 3, Y: 0, Z: 5}); r3.Norm(r3.Sub(v, r3.Vec{Y: 2, Z: 1})) > 1e-12 {
		t.Errorf("speed %v", v)
	}
}

func TestBadFaces(t *testing.T) {
	nan := math.NaN()
	for name, faces := range map[string][]Face{
		"none": nil, "no area": {{At: r3.Vec{X: 1}, Normal: r3.Vec{Z: 1}}},
		"nan":      {{r3.Vec{X: nan}, r3.Vec{Z: 1}, 1}, {r3.Vec{}, r3.Vec{Z: 1}, 1}},
		"infinite": {{r3.Vec{X: math.Inf(1)}, r3.Vec{Z: 1}, 1}},
	} {
		if f, err := Of(faces, 0); !errors.Is(err, ErrFaces) {
			t.Errorf("%s: %+v, %v", name, f, err)
		}
	}
	point := []Face{{r3.Vec{X: 1}, r3.Vec{Z: 1}, 1}, {r3.Vec{X: 1}, r3.Vec{X: 1}, 1}}
	if f, err := Of(point, 0); err != nil || f.Group != Degenerate {
		t.Errorf("a point: %+v, %v", f, err)
	}
}

func BenchmarkOf(b *testing.B) {
	faces := surface(cylinder)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Of(faces, 0); err != nil {
			b.Fatal(err)
		}
	}
}
