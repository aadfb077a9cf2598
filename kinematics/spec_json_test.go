package kinematics

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func TestSpecJSONForm(t *testing.T) {
	s := FrameSpec{
		Datum: Axis{Point: v3(1, 2, 3), Dir: v3(0, 0, 1)}, Flip: true, Slide: -2.5,
		Reach: Aim{Role: RoleSide, At: Reference{Kind: FromPoint, Point: v3(4, 5, 6)}, Angle: deg(33.3)},
		Roll:  Aim{At: Reference{Kind: FromJoint, Joint: "elbow", Feature: TheirSide}},
	}
	const want = `{"datum":{"point":[1,2,3],"direction":[0,0,1]},"flip":true,"slide":-2.5,` +
		`"reach":{"role":"side","at":{"kind":"point","point":[4,5,6]},"angle":33.3},` +
		`"roll":{"at":{"kind":"joint","joint":"elbow","feature":"side"}}}`
	got, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("JSON\n%s\nwant\n%s", got, want)
	}
	got, err = json.Marshal(FrameSpec{Datum: Axis{Dir: v3(1, 0, 0)}})
	if err != nil || string(got) != `{"datum":{"point":[0,0,0],"direction":[1,0,0]}}` {
		t.Errorf("defaults: %s, %v", got, err)
	}
}

func TestSpecJSONRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := genSpec().Draw(t, "spec")
		// What a user types comes back to the last bit.
		s.Reach.Angle = Radians(math.Round(Degrees(s.Reach.Angle)*1e4) / 1e4)
		s.Roll.Angle = Radians(math.Round(Degrees(s.Roll.Angle)*1e4) / 1e4)
		data, err := json.Marshal(s)
		if err != nil {
			t.Fatalf("%v", err)
		}
		var back FrameSpec
		if err := json.Unmarshal(data, &back); err != nil {
			t.Fatalf("%s: %v", data, err)
		}
		if back != s {
			t.Errorf("round trip gives %+v, want %+v", back, s)
		}
	})
}

func TestDegrees(t *testing.T) {
	for _, d := range []float64{0, 0.1, 1, 33.3, 45, 59.9, 89.999, 90, 180, -270, 360, 1e-9} {
		if got := Degrees(Radians(d)); got != d {
			t.Errorf("%v degrees come back as %v", d, got)
		}
	}
	near(t, "half turn", Degrees(math.Pi), 180, 0)
	if !math.IsNaN(Degrees(math.NaN())) || !math.IsInf(Degrees(math.Inf(-1)), -1) {
		t.Error("NaN or infinity is lost")
	}
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(-1e4, 1e4).Draw(t, "radians")
		near(t, "there and back", Radians(Degrees(r)), r, 4e-16*math.Abs(r))
	})
}

func TestSpecJSONBadInput(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`{"datum":{"point":[1,2],"direction":[0,0,1]}}`, "a point or direction has 2 numbers: give three"},
		{`{"datum":{"point":[1,2,3,4],"direction":[0,0,1]}}`, "a point or direction has 4 numbers: give three"},
		{`{"datum":{"point":"here"}}`, "read axis"},
		{`{"reach":{"at":{"kind":"point","point":[1,2,"x"]}}}`, "read frame reference"},
		{`{"reach":{"angle":"wide"}}`, "read frame aim"},
		{`{"flip":"yes"}`, "read frame recipe"},
		{`[]`, "read frame recipe"},
	} {
		var s FrameSpec
		err := json.Unmarshal([]byte(c.text), &s)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", c.text, err, c.want)
		}
	}
	for _, s := range []FrameSpec{
		{Slide: math.NaN()},
		{Datum: Axis{Point: v3(math.Inf(1), 0, 0)}},
		{Roll: Aim{Angle: math.NaN()}},
		{Reach: Aim{At: Reference{Kind: FromDirection, Dir: r3.Vec{X: math.NaN()}}}},
	} {
		if data, err := json.Marshal(s); err == nil {
			t.Errorf("%+v is written as %s", s, data)
		}
	}
}

func BenchmarkSpecJSON(b *testing.B) {
	b.ReportAllocs()
	s := FrameSpec{Datum: Axis{Dir: v3(0, 0, 1)}, Reach: Aim{Angle: 0.3}}
	for b.Loop() {
		data, err := json.Marshal(s)
		if err != nil {
			b.Fatal(err)
		}
		if err := json.Unmarshal(data, &s); err != nil {
			b.Fatal(err)
		}
	}
}
