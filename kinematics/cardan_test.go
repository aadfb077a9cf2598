package kinematics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// The Hooke joint in closed form (machine-theory texts: J. E. Shigley, J. J.
// Uicker, Theory of Machines and Mechanisms, 1980; R. L. Norton, Design of
// Machinery, ch. 10), full digits recomputed. Bend 30 degrees, input fork in the
// plane of the shafts at 0; counted from across it, a quarter turn on, the
// texts' other form.
func TestCardanPublished(t *testing.T) {
	c := Cardan{Bend: deg(30)}
	for _, r := range []struct{ in, out, ratio, acrossOut, acrossRatio float64 }{
		{0, 0, 1.15470053837925, 0, 0.866025403784439},
		{15, 17.192123734021, 1.12948026138712, 13.0643134295083, 0.880775598174685},
		{30, 33.6900675259798, 1.06587742004239, 26.565051177078, 0.923760430703401},
		{45, 49.1066053508691, 0.989743318610787, 40.8933946491309, 0.989743318610787},
		{60, 63.434948822922, 0.923760430703401, 56.3099324740202, 1.06587742004239},
		{75, 76.9356865704917, 0.880775598174685, 72.807876265979, 1.12948026138712},
		{90, 90, 0.866025403784439, 90, 1.15470053837925},
	} {
		near(t, "out", c.Output(deg(r.in)), deg(r.out), 2e-15)
		near(t, "ratio", c.Ratio(deg(r.in)), r.ratio, 1e-14)
		near(t, "out, from across", c.Output(deg(r.in)+quarter)-quarter, deg(r.acrossOut), 2e-15)
		near(t, "ratio, from across", c.Ratio(deg(r.in)+quarter), r.acrossRatio, 1e-14)
	}
	for _, r := range []struct{ bend, least, most, fluctuation, lead, at float64 }{
		{5, 0.996194698091746, 1.00381983754335, 0.00762513945160186, 0.109221746442387, 45.0546108732212},
		{10, 0.984807753012208, 1.01542661188574, 0.0306188588735369, 0.438561433601676, 45.2192807168008},
		{15, 0.965925826289068, 1.03527618041008, 0.0693503541210148, 0.993121958275797, 45.4965609791379},
		{20, 0.939692620785908, 1.06417777247591, 0.124485151690004, 1.78168190269839, 45.8908409513492},
		{30, 0.866025403784439, 1.15470053837925, 0.288675134594813, 4.11719427024018, 47.0585971351201},
		{45, 0.707106781186548, 1.4142135623731, 0.707106781186548, 9.87928194727864, 49.9396409736393},
	} {
		c := Cardan{Bend: deg(r.bend)}
		near(t, "least ratio", c.Ratio(quarter), r.least, 1e-14)
		near(t, "greatest ratio", c.Ratio(0), r.most, 1e-14)
		near(t, "fluctuation", c.Fluctuation(), r.fluctuation, 1e-14)
		lead, at := c.Lead()
		near(t, "lead", lead, deg(r.lead), 1e-14)
		near(t, "input at the lead", at, quarter-deg(r.at), 1e-13) // the text counts from across
		near(t, "it is reached there", c.Output(at)-at, lead, 1e-15)
	}
}

// Two joints with equal bends: even with the middle forks parallel, doubly
// uneven with them crossed (same texts).
func TestDoubleCardan(t *testing.T) {
	c := Cardan{Bend: deg(25)}
	for _, in := range []float64{-2, 0, 0.3, 1, 2, 4} {
		near(t, "parallel forks", c.Output(c.Output(in)+quarter)-quarter, in, 4e-15)
		near(t, "ratio", c.Ratio(c.Output(in)+quarter)*c.Ratio(in), 1, 1e-14)
	}
	square := math.Cos(deg(25)) * math.Cos(deg(25))
	near(t, "crossed forks, least", c.Ratio(c.Output(quarter))*c.Ratio(quarter), square, 1e-14)
	near(t, "crossed forks, greatest", c.Ratio(c.Output(0))*c.Ratio(0), 1/square, 1e-14)
}

// Oracle: the motions of the universal joint itself. The input shaft turns
// about the reach with its fork, the output shaft keeps its line and must turn
// about it by Output.
func TestCardanAgainstMotion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := genJoint(Universal).Draw(t, "joint")
		c := Cardan{Bend: rapid.Float64Range(0, 1.5).Draw(t, "bend")}
		in := rapid.Float64Range(-9, 9).Draw(t, "in")
		shaft := Axis{Point: j.Frame.Origin, Dir: j.Frame.Reach}
		at := func(in float64) Transform {
			a, b := c.Values(in)
			return Rotation(shaft, in).Mul(j.Motion(a, b))
		}
		start := at(0)
		out := Axis{Point: j.Frame.Origin, Dir: start.Turn(j.Frame.Reach)}
		near(t, "bend", Angle(shaft.Dir, out.Dir), c.Bend, 1e-14)
		nearRows(t, "the output shaft turns by Output", at(in), Rotation(out, c.Output(in)).Mul(start), 5e-14)
		// The fork of the input shaft lies in the plane of the shafts at 0.
		near(t, "fork in plane", r3.Dot(j.Frame.Hinge, r3.Cross(shaft.Dir, out.Dir)), 0, 1e-14)
		const h = 1e-5
		near(t, "ratio", (c.Output(in+h)-c.Output(in-h))/(2*h), c.Ratio(in), 1e-5*(1+c.Fluctuation())*c.Ratio(0))
		near(t, "a turn of the input is one of the output", c.Output(in+2*math.Pi)-c.Output(in), 2*math.Pi, 1e-13)
		near(t, "odd", c.Output(-in), -c.Output(in), 0)
		back, backIn := CardanOf(c.Values(in))
		near(t, "bend of the values", back.Bend, c.Bend, 1e-14)
		if c.Bend > 1e-3 {
			near(t, "input angle of the values", wrap(backIn-in), 0, 1e-11)
		}
	})
}

func TestCardanBadInput(t *testing.T) {
	for _, bend := range []float64{-0.1, quarter, 3, math.NaN(), math.Inf(1)} {
		if err := (Cardan{Bend: bend}).Check(); err == nil {
			t.Errorf("bend %v is accepted", bend)
		}
	}
	wantText(t, Cardan{Bend: quarter}.Check(), "a bend of 90 degrees between the shafts: give 0 to below 90")
	if err := (Cardan{}).Check(); err != nil {
		t.Error(err)
	}
	if c, in := CardanOf(0, 0); c != (Cardan{}) || in != 0 {
		t.Errorf("in line: %v at %v", c, in)
	}
}

func BenchmarkCardan(b *testing.B) {
	b.ReportAllocs()
	c := Cardan{Bend: 0.5}
	for b.Loop() {
		if c.Output(0.3)+c.Ratio(0.3) < 0 {
			b.Fatal("backward")
		}
	}
}
