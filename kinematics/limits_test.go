package kinematics

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// Solid angle of a round cone of half angle a: 2 pi (1 - cos a) (any text on
// the sphere).
func TestConeSolidAngleClosedForm(t *testing.T) {
	for _, c := range []struct{ half, want float64 }{
		{10, 0.0954557030567377},
		{15, 0.214094347614811},
		{30, 0.841787214476933},
		{45, 1.84030236902122},
		{60, 3.14159265358979},
		{90, 6.28318530717959},
		{120, 9.42477796076938},
		{180, 12.5663706143592},
	} {
		near(t, "round", Cone{Max: []float64{deg(c.half)}}.SolidAngle(), c.want, 5e-14)
		near(t, "round by azimuth", Cone{Max: slices.Repeat([]float64{deg(c.half)}, 7)}.SolidAngle(), c.want, 5e-14)
	}
	near(t, "narrow", Cone{Max: []float64{1e-9}}.SolidAngle()/(math.Pi*1e-18), 1, 1e-15)
	// A cone between two angles that runs straight: 2 pi (1 - (sin b - sin a)/(b - a)).
	a, b := 0.3, 1.4
	near(t, "slanted", Cone{Max: []float64{a, b}}.SolidAngle(), 2*math.Pi*(1-(math.Sin(b)-math.Sin(a))/(b-a)), 1e-14)
}

func genCone() *rapid.Generator[Cone] {
	return rapid.Custom(func(t *rapid.T) Cone {
		return Cone{Max: rapid.SliceOfN(rapid.Float64Range(0.1, math.Pi), 1, 9).Draw(t, "max")}
	})
}

// Oracle: the cone's solid angle by the midpoint rule over the azimuth.
func TestConeSolidAngleAgainstSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := genCone().Draw(t, "cone")
		const n = 5040 // divisible by 1 to 9: no sample spans a corner
		sum := 0.0
		for i := range n {
			sum += 1 - math.Cos(c.At(2*math.Pi*(float64(i)+0.5)/n))
		}
		near(t, "solid angle", c.SolidAngle(), sum*2*math.Pi/n, 1e-4)
	})
}

func TestConeAt(t *testing.T) {
	c := Cone{Max: []float64{1, 2, 3, 2}}
	for _, r := range []struct{ azimuth, want float64 }{
		{0, 1}, {90, 2}, {180, 3}, {-90, 2}, {45, 1.5}, {-45, 1.5}, {360 + 90, 2}, {-720, 1}, {225, 2.5},
	} {
		near(t, "cone", c.At(deg(r.azimuth)), r.want, 1e-14)
	}
	if v := c.At(-1e-300); v != 1 {
		t.Errorf("just below 0 the cone is %v", v)
	}
}

func TestLean(t *testing.T) {
	for _, c := range []struct {
		kind           Kind
		v1, v2         float64
		azimuth, polar float64
	}{
		{Spherical, 30, 0, 0, 30},
		{Spherical, -30, 0, 180, 30},
		{Spherical, 0, -40, 90, 40},
		{Spherical, 0, 40, -90, 40},
		{Spherical, 0, 0, 0, 0},
		{Spherical, 200, 0, 0, 200},
		{Universal, 30, 0, 0, 30},
		{Universal, -30, 0, 180, 30},
		{Universal, 0, -40, 90, 40},
		{Universal, 0, 40, -90, 40},
		{Revolute, 30, 0, 0, 0},
	} {
		azimuth, polar := c.kind.Lean(deg(c.v1), deg(c.v2))
		near(t, "azimuth", azimuth, deg(c.azimuth), 1e-15)
		near(t, "polar", polar, deg(c.polar), 1e-15)
	}
}

// The lean is where the motion takes the reach.
func TestLeanAgainstMotion(t *testing.T) {
	for _, kind := range []Kind{Universal, Spherical} {
		t.Run(string(kind), rapid.MakeCheck(func(t *rapid.T) {
			j := genJoint(kind).Draw(t, "joint")
			v := genValuesOf(t, kind, 3)
			azimuth, polar := kind.Lean(v[0], v[1])
			s, c := math.Sincos(polar)
			sa, ca := math.Sincos(azimuth)
			f := j.Frame
			want := r3.Add(r3.Scale(c, f.Reach), r3.Add(r3.Scale(s*ca, f.Side()), r3.Scale(s*sa, f.Hinge)))
			nearVec(t, "reach", j.Motion(v...).Turn(f.Reach), want, 1e-14)
			if kind == Spherical {
				s1, s2 := SwingOf(azimuth, polar)
				near(t, "swing about hinge", s1, v[0], 1e-14)
				near(t, "swing about side", s2, v[1], 1e-14)
			}
			// Seen from the flipped joint the same lean is half a turn on.
			flipped := kind.FlippedValues(v)
			fa, fp := kind.Lean(flipped[0], flipped[1])
			near(t, "polar, flipped", fp, polar, 1e-14)
			near(t, "azimuth, flipped", math.Abs(wrap(fa-azimuth))*math.Sin(polar), math.Pi*math.Sin(polar), 1e-13)
		}))
	}
}

func TestLimitsProperties(t *testing.T) {
	for _, kind := range Kinds() {
		t.Run(string(kind), rapid.MakeCheck(func(t *rapid.T) {
			j := genJoint(kind).Draw(t, "joint")
			for range kind.Freedoms() {
				j.Limits = append(j.Limits, Range{rapid.Float64Range(-3, 0).Draw(t, "lower"), rapid.Float64Range(0, 3).Draw(t, "upper")})
			}
			if kind.Leans() && rapid.Bool().Draw(t, "has cone") {
				c := genCone().Draw(t, "cone")
				j.Cone = &c
			}
			if err := j.Check(); err != nil {
				t.Fatalf("%v", err)
			}
			v := genValuesOf(t, kind, 5)
			clamped := slices.Clone(v)
			n := j.Clamp(clamped)
			if !j.Within(clamped...) {
				t.Errorf("%v is clamped to %v, which is outside", v, clamped)
			}
			if within := j.Within(v...); within != (n == 0) || within != slices.Equal(v, clamped) {
				t.Errorf("%v within: %v, but %d values are clamped to %v", v, within, n, clamped)
			}
			if again := slices.Clone(clamped); j.Clamp(again) != 0 {
				t.Errorf("clamping %v again gives %v", clamped, again)
			}
			if !j.Within() || !j.Within(make([]float64, len(v))...) {
				t.Error("the pose as modelled is outside")
			}
			flipped := j.Flipped()
			if j.Cone == nil {
				if got, want := flipped.Within(kind.FlippedValues(v)...), j.Within(v...); got != want {
					t.Errorf("the flipped joint holds %v: %v, the joint: %v", v, got, want)
				}
				return
			}
			// Just inside the boundary and just outside it, off rounding.
			azimuth, polar := kind.Lean(v[0], v[1])
			free := Joint{Kind: kind, Frame: j.Frame, Cone: j.Cone}.Flipped()
			if d := polar - j.Cone.At(azimuth); math.Abs(d) > 1e-9 {
				if got := free.Within(kind.FlippedValues(v)...); got != (d < 0) {
					t.Errorf("the flipped cone holds a lean of %v: %v, the most is %v", polar, got, j.Cone.At(azimuth))
				}
			}
			near(t, "solid angle, flipped", free.Cone.SolidAngle(), j.Cone.SolidAngle(), 1e-13)
		}))
	}
}

func TestLimitsBadInput(t *testing.T) {
	f := Frame{Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}
	nan := math.NaN()
	j := Joint{Kind: Spherical, Frame: f, Cone: &Cone{Max: []float64{1}}, Limits: []Range{{-1, 1}, {-1, 1}, {-1, 1}}}
	v := []float64{nan, 3, nan}
	if n := j.Clamp(v); n != 1 || !math.IsNaN(v[0]) || v[1] != 1 || !math.IsNaN(v[2]) {
		t.Errorf("clamped %d values to %v", n, v)
	}
	if j.Within(nan, 0, 0) {
		t.Error("NaN is within")
	}
	short := []float64{2}
	if n := j.Clamp(short); n != 1 || short[0] != 1 {
		t.Errorf("clamped %d of one value to %v", n, short)
	}
	if j.Limit(7) != Unlimited() || (&Joint{Kind: Revolute}).Limit(0) != Unlimited() {
		t.Error("a value without limit has one")
	}
	for _, c := range []Cone{{Max: []float64{-0.1}}, {Max: []float64{3.2}}, {Max: make([]float64, 3601)}, {Max: []float64{math.Inf(1)}}} {
		if c.Check() == nil {
			t.Errorf("a cone of %d angles from %v on is accepted", len(c.Max), c.Max[0])
		}
	}
}

// An azimuth that is no number has no limit, whatever the number of angles.
func TestConeAtNoAzimuth(t *testing.T) {
	for _, n := range []int{1, 2, 3, 12} {
		c := Cone{Max: make([]float64, n)}
		for _, a := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
			if got := c.At(a); !math.IsNaN(got) {
				t.Errorf("cone of %d angles at %g: %g, want NaN", n, a, got)
			}
		}
	}
}

// Whatever cone a joint may have, the flipped joint may have its own.
func TestFlippedJointKeepsItsCone(t *testing.T) {
	for _, n := range []int{1, 1799, 1800, 1801, 3599, MaxConeSamples} {
		j := Joint{
			Name: "a", Kind: Spherical, Cone: &Cone{Max: make([]float64, n)},
			Frame: Frame{Hinge: r3.Vec{Y: 1}, Reach: r3.Vec{Z: 1}},
		}
		flipped := j.Flipped()
		before, after := j.Check(), flipped.Check()
		if before == nil && after != nil {
			t.Errorf("%d angles: flipped it is refused: %v", n, after)
		}
		if odd := n%2 == 1 && n > 1800; odd != (before != nil) {
			t.Errorf("%d angles: %v", n, before)
		}
	}
}

func TestRangesWithoutValues(t *testing.T) {
	for _, v := range []float64{math.Inf(1), math.Inf(-1)} {
		if err := (Range{Lower: v, Upper: v}).Check(); err == nil {
			t.Errorf("range at %g: no error", v)
		}
	}
}

func BenchmarkClamp(b *testing.B) {
	for _, kind := range []Kind{Revolute, Universal, Spherical} {
		b.Run(string(kind), func(b *testing.B) {
			b.ReportAllocs()
			j := Joint{Kind: kind, Limits: slices.Repeat([]Range{{-1, 1}}, kind.Freedoms())}
			if kind.Leans() {
				j.Cone = &Cone{Max: []float64{0.5, 0.7, 0.6}}
			}
			v := make([]float64, kind.Freedoms())
			for b.Loop() {
				for i := range v {
					v[i] = 2
				}
				if j.Clamp(v) == 0 {
					b.Fatal("within")
				}
			}
		})
	}
}
