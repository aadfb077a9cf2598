package figures

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
)

func TestSetting(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Fixed(-0.0001, 2), "0.00"},
		{Fixed(-12.345, 1), "−12.3"},
		{Fixed(math.NaN(), 3), "–"},
		{Degrees(-math.Pi/2, 2), "−90.00°"},
		{Length(0.00412, mesh.Metre), "0.004120 m"},
		{Length(0.0131, mesh.Millimetre), "0.013 mm"},
		{Dir(r3.Vec{X: 0.1822, Y: -0.9641, Z: 0.1934}), " 0.1822 −0.9641  0.1934"},
		{Count(41208), "41 208"},
		{Count(-1234), "−1 234"},
		{Count(999), "999"},
		{Whole(19768038.4), "19 768 038"},
		{Whole(0.00345), "0.00345"},
		{Whole(0), "0"},
		{Plural(1, "joint", "joints"), "1 joint"},
		{Plural(0, "joint", "joints"), "0 joints"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestParseReadsWhatFixedSets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "v")
		got, ok := Parse(Fixed(v, 6))
		if !ok || math.Abs(got-v) > 1e-6 {
			t.Fatalf("Parse(Fixed(%v)) = %v, %v", v, got, ok)
		}
	})
}

func TestParseRefusesWhatIsNoNumber(t *testing.T) {
	for _, s := range []string{"", "abc", "NaN", "Inf", "1e999", "12,5"} {
		if v, ok := Parse(s); ok {
			t.Errorf("Parse(%q) = %v", s, v)
		}
	}
	if v, ok := ParseAngle(" −90° "); !ok || math.Abs(v+math.Pi/2) > 1e-15 {
		t.Errorf("ParseAngle gave %v, %v", v, ok)
	}
}

func TestShareIsRoundedDown(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{{0, "0.00"}, {0.29, "0.29"}, {0.999, "0.99"}, {1, "1.00"}, {0.57, "0.57"}} {
		if got := Share(c.v); got != c.want {
			t.Errorf("%v is set %q, want %q", c.v, got, c.want)
		}
	}
}
