package kinematics

import (
	"errors"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// Gears, racks and worms in closed form (machine-theory texts, for instance J.
// E. Shigley, J. J. Uicker, Theory of Machines and Mechanisms, 1980).
func TestLawsClosedForm(t *testing.T) {
	law := func(l Law, err error) Function {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		f, err := l.Function()
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	near(t, "external pair", law(GearLaw(18, 45, false)).Value(1), -0.4, 0)
	near(t, "internal pair", law(GearLaw(18, 72, true)).Value(1), 0.25, 0)
	near(t, "compound train", law(GearLaw(15, 60, false)).Value(law(GearLaw(20, 50, false)).Value(1)), 0.1, 1e-17)
	near(t, "rack", law(RackLaw(20, 2)).Value(quarter), 31.4159265358979, 4e-14)
	near(t, "worm", law(Law{Kind: LawRatio, Ratio: 1. / 40}, nil).Value(1), 0.025, 0)
	near(t, "open belt", law(BeltLaw(50, 200, false)).Value(2), 0.5, 0)
	near(t, "crossed belt", law(BeltLaw(50, 200, true)).Value(2), -0.5, 0)
	near(t, "mirror", law(Law{Kind: LawMirror, Ratio: -1}, nil).Value(0.7), -0.7, 0)
	near(t, "linear", law(Law{Kind: LawLinear, Ratio: 2, Offset: -1}, nil).Value(3), 5, 0)
}

func curveOf(points ...float64) Law {
	l := Law{Kind: LawCurve}
	for i := 0; i < len(points); i += 2 {
		l.Curve = append(l.Curve, CurvePoint{points[i], points[i+1]})
	}
	return l
}

// Three points in closed form, by the paper's own rule: at the middle the slope
// is 3 (h1 + h2)/((2 h2 + h1)/d1 + (h2 + 2 h1)/d2), here with h = 1, 1 and d = 1, 3:
// 6/(3 + 1) = 1.5 (F. N. Fritsch, J. Butland, SIAM J. Sci. Statist. Comput. 5,
// 1984, 300-304).
func TestCurveClosedForm(t *testing.T) {
	f, err := curveOf(0, 0, 1, 1, 2, 4).Function()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slope at the middle point", f.Slope(1), 1.5, 1e-15)
	for _, p := range [][2]float64{{-5, 0}, {0, 0}, {1, 1}, {2, 4}, {9, 4}} {
		near(t, "value", f.Value(p[0]), p[1], 0)
	}
	if f.Slope(-1) != 0 || f.Slope(3) != 0 {
		t.Error("the curve goes on beyond its ends")
	}
	line, err := curveOf(-1, -2, 3, 6).Function()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "two points are a line", line.Value(0.7), 1.4, 1e-15)
	near(t, "its slope", line.Slope(0.7), 2, 1e-15)
}

func genLaw() *rapid.Generator[Law] {
	return rapid.Custom(func(t *rapid.T) Law {
		number := rapid.Float64Range(-3, 3)
		switch k := rapid.SampledFrom(LawKinds()).Draw(t, "kind"); k {
		case LawMirror:
			return Law{Kind: k, Ratio: rapid.SampledFrom([]float64{1, -1}).Draw(t, "sign")}
		case LawLinear:
			return Law{Kind: k, Ratio: number.Draw(t, "ratio"), Offset: number.Draw(t, "offset")}
		case LawRatio:
			return Law{Kind: k, Ratio: number.Draw(t, "ratio")}
		}
		l := Law{Kind: LawCurve}
		x := number.Draw(t, "first")
		for range rapid.IntRange(2, 7).Draw(t, "points") {
			l.Curve = append(l.Curve, CurvePoint{x, number.Draw(t, "follower")})
			x += rapid.Float64Range(0.05, 2).Draw(t, "step")
		}
		return l
	})
}

func genRange() *rapid.Generator[Range] {
	return rapid.Custom(func(t *rapid.T) Range {
		r := Range{rapid.Float64Range(-4, 4).Draw(t, "lower"), rapid.Float64Range(0, 4).Draw(t, "span")}
		r.Upper += r.Lower
		return r
	})
}

// Over and Within against sampling; Slope against differences.
func TestLawProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, err := genLaw().Draw(t, "law").Function()
		if err != nil {
			t.Fatalf("%v", err)
		}
		r := genRange().Draw(t, "range")
		over := f.Over(r)
		limit := genRange().Draw(t, "limit")
		at := rapid.Float64Range(-4, 4).Draw(t, "at")
		within, ok := f.Within(limit, at)
		if ok != limit.Contains(f.Value(at)) {
			t.Errorf("at %v the follower stands at %v, within %v: %v", at, f.Value(at), limit, ok)
		}
		if ok && !within.Contains(at) {
			t.Errorf("%v does not hold %v", within, at)
		}
		for i := range 200 {
			s := float64(i) / 199
			if v := f.Value(r.Lower + s*r.Span()); v < over.Lower-1e-12 || v > over.Upper+1e-12 {
				t.Errorf("over %v the follower takes %v, beyond %v", r, v, over)
			}
			x := max(within.Lower, -9) + s*(min(within.Upper, 9)-max(within.Lower, -9))
			if v := f.Value(x); ok && (v < limit.Lower-1e-9 || v > limit.Upper+1e-9) {
				t.Errorf("at %v in %v the follower takes %v, beyond %v", x, within, v, limit)
			}
		}
		if ok { // it is the widest: a step beyond is outside, unless the law turns back there
			for _, end := range []float64{within.Lower, within.Upper} {
				out := end + math.Copysign(1e-6, end-at)
				if v := f.Value(out); !math.IsInf(end, 0) && end != at && limit.Contains(v) && math.Abs(f.Slope(end)) > 1e-4 {
					t.Errorf("the range ends at %v, but at %v the follower takes %v within %v", end, out, v, limit)
				}
			}
		}
		const h = 1e-6
		if smooth := f.Slope(at-h) != 0 && f.Slope(at+h) != 0; smooth {
			near(t, "slope", (f.Value(at+h)-f.Value(at-h))/(2*h), f.Slope(at), 1e-2)
		}
	})
}

// trainTree is five hinges and a universal joint in a row.
func trainTree(t failer, limits ...Range) *Tree {
	joints := chainOf(6)
	joints[5].Kind = Universal
	names := []string{"a", "b", "c", "d", "e", "u"}
	for i := range joints {
		joints[i].Name = names[i]
		if i < len(limits) {
			joints[i].Limits = []Range{limits[i]}
		}
	}
	return mustTree(t, 6, joints)
}

func ratio(driver, follower int, r float64) Coupling {
	return Coupling{Driver: ValueRef{Joint: driver}, Follower: ValueRef{Joint: follower}, Law: Law{Kind: LawRatio, Ratio: r}}
}

func TestCouplingsInOrder(t *testing.T) {
	tree := trainTree(t)
	// Given against their order: a leads b leads c; d leads the universal's second turn.
	list := []Coupling{
		ratio(1, 2, 3),
		{Driver: ValueRef{3, 0}, Follower: ValueRef{5, 1}, Law: Law{Kind: LawLinear, Ratio: 0.5, Offset: 0.25}},
		ratio(0, 1, -2),
	}
	c, err := NewCouplings(tree, list)
	if err != nil {
		t.Fatal(err)
	}
	values := []float64{0.1, 9, 9, 0.4, 0.7, 0.3, 9}
	c.Apply(values)
	if want := []float64{0.1, -0.2, -0.6, 0.4, 0.7, 0.3, 0.45}; !slices.EqualFunc(values, want, func(a, b float64) bool { return math.Abs(a-b) < 1e-15 }) {
		t.Errorf("values %v, want %v", values, want)
	}
	if got := c.Free(); !slices.Equal(got, []int{0, 3, 4, 5}) {
		t.Errorf("free %v", got)
	}
	for v, want := range []int{-1, 2, 0, -1, -1, -1, 1} {
		if got := c.Leader(v); got != want {
			t.Errorf("value %d is led by %d, want %d", v, got, want)
		}
	}
	if got := c.Zero(); got[6] != 0.25 || got[2] != 0 {
		t.Errorf("zero %v", got)
	}
	rates := make([]float64, 7)
	c.Rates(rates, values, 0)
	if want := []float64{1, -2, -6, 0, 0, 0, 0}; !slices.Equal(rates, want) {
		t.Errorf("rates %v, want %v", rates, want)
	}
}

// The velocity that a driver makes is the sum of the twists by their rates.
func TestRatesAgainstSlope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tree := trainTree(t)
		list := []Coupling{
			{Driver: ValueRef{0, 0}, Follower: ValueRef{2, 0}, Law: genLaw().Draw(t, "law")},
			{Driver: ValueRef{2, 0}, Follower: ValueRef{5, 1}, Law: Law{Kind: LawMirror, Ratio: -1}},
			{Driver: ValueRef{1, 0}, Follower: ValueRef{3, 0}, Law: Law{Kind: LawRatio, Ratio: 0.7}},
		}
		c, err := NewCouplings(tree, list)
		if err != nil {
			t.Fatalf("%v", err)
		}
		values := genValues(tree).Draw(t, "values")
		p := genPoint(5).Draw(t, "p")
		at := func(d float64) r3.Vec {
			v := slices.Clone(values)
			v[0] += d
			c.Apply(v)
			return tree.FK(v)[5].Apply(p)
		}
		c.Apply(values)
		const h = 1e-6
		if k := list[0].Law; k.Kind == LawCurve { // off the ends, where the curve has corners
			f, _ := k.Function()
			if f.Slope(values[0]-h) == 0 || f.Slope(values[0]+h) == 0 {
				return
			}
		}
		rates := make([]float64, tree.NumValues())
		c.Rates(rates, values, 0)
		var sum Twist
		for v, w := range tree.Jacobian(5, values) {
			sum = sum.Add(w.Scale(rates[v]))
		}
		slope := r3.Scale(1/(2*h), r3.Sub(at(h), at(-h)))
		nearVec(t, "velocity", slope, sum.At(at(0)), 2e-2)
	})
}

// A driver of -90 to 90 degrees, a follower at half of it that may go -30 to 60,
// and one more at twice the follower that may go -40 to 1000 (plain arithmetic).
func TestCoupledLimits(t *testing.T) {
	tree := trainTree(t, Range{deg(-90), deg(90)}, Range{deg(-30), deg(60)}, Range{deg(-40), deg(1000)})
	c, err := NewCouplings(tree, []Coupling{ratio(1, 2, 2), ratio(0, 1, 0.5)})
	if err != nil {
		t.Fatal(err)
	}
	got := c.Limits()
	check := func(what string, r Range, lower, upper float64) {
		t.Helper()
		near(t, what+", lower", r.Lower, deg(lower), 1e-14)
		near(t, what+", upper", r.Upper, deg(upper), 1e-14)
	}
	check("reach of b", got[1].Reach, -45, 45)
	check("reach of c", got[0].Reach, -90, 90)
	check("b, for c", got[0].Driver, -20, 60)
	check("a, for b and c", got[1].Driver, -40, 90)
	if !got[0].Exceeds() || !got[1].Exceeds() || !got[0].OK || !got[1].OK {
		t.Errorf("%+v", got)
	}
	allowed := c.Allowed()
	check("a", allowed[0], -40, 90)
	check("b", allowed[1], -20, 60)
	if allowed[3] != Unlimited() {
		t.Errorf("d may go %v", allowed[3])
	}
	// Outside as modelled already.
	off, err := NewCouplings(tree, []Coupling{{
		Driver: ValueRef{0, 0}, Follower: ValueRef{1, 0}, Law: Law{Kind: LawLinear, Ratio: 1, Offset: 2},
	}})
	if err != nil {
		t.Fatal(err)
	}
	if l := off.Limits()[0]; l.OK || !l.Exceeds() || off.Allowed()[0] != (Range{}) {
		t.Errorf("%+v, allowed %v", l, off.Allowed()[0])
	}
}

// Within Allowed every follower keeps its limits.
func TestAllowedKeepsLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var limits []Range
		for range 4 {
			limits = append(limits, Range{rapid.Float64Range(-3, -0.1).Draw(t, "lower"), rapid.Float64Range(0.1, 3).Draw(t, "upper")})
		}
		tree := trainTree(t, limits...)
		c, err := NewCouplings(tree, []Coupling{
			{Driver: ValueRef{0, 0}, Follower: ValueRef{1, 0}, Law: genLaw().Draw(t, "law 1")},
			{Driver: ValueRef{1, 0}, Follower: ValueRef{2, 0}, Law: genLaw().Draw(t, "law 2")},
			{Driver: ValueRef{0, 0}, Follower: ValueRef{3, 0}, Law: genLaw().Draw(t, "law 3")},
		})
		if err != nil {
			t.Fatalf("%v", err)
		}
		for _, l := range c.Limits() {
			if !l.OK {
				return // outside in the pose of Zero
			}
		}
		r := c.Allowed()[0]
		values := tree.Zero()
		for i := range 50 {
			values[0] = r.Lower + r.Span()*float64(i)/49
			c.Apply(values)
			for k, limit := range limits {
				if v := values[k]; v < limit.Lower-1e-9 || v > limit.Upper+1e-9 {
					t.Errorf("at %v of %v value %d is %v, beyond %v", values[0], r, k, v, limit)
				}
			}
		}
	})
}

func TestCouplingBadInput(t *testing.T) {
	tree := trainTree(t)
	nan := math.NaN()
	for _, c := range []struct {
		list []Coupling
		want string
	}{
		{[]Coupling{ratio(9, 1, 1)}, "coupling 1: there is no joint 9: the tree has joints 0 to 5"},
		{[]Coupling{ratio(0, -1, 1)}, "coupling 1: there is no joint -1: the tree has joints 0 to 5"},
		{[]Coupling{{Driver: ValueRef{0, 1}, Follower: ValueRef{1, 0}}}, `coupling 1: joint "a" has 1 values, no value 1`},
		{[]Coupling{ratio(0, 1, 1), ratio(2, 1, 1)}, `coupling 2: joint "b" follows by coupling 1 already: a value follows one driver`},
		{[]Coupling{ratio(0, 1, nan)}, "coupling 1: its law is wrong: ratio NaN and offset 0: give finite numbers"},
		{[]Coupling{{Follower: ValueRef{1, 0}, Law: Law{Kind: "cam"}}}, `coupling 1: its law is wrong: law "cam" is not known: give one of [ratio mirror linear curve]`},
		{[]Coupling{{Follower: ValueRef{1, 0}, Law: Law{Kind: LawMirror, Ratio: 2}}}, "coupling 1: its law is wrong: a mirror law with the ratio 2: give 1 or -1"},
		{[]Coupling{{Follower: ValueRef{1, 0}, Law: Law{Kind: LawRatio, Offset: 2}}}, "coupling 1: its law is wrong: a ratio law with the offset 2: make it linear"},
		{[]Coupling{{Follower: ValueRef{1, 0}, Law: Law{Kind: LawRatio, Curve: curveOf(0, 0).Curve}}}, "coupling 1: its law is wrong: a ratio law takes no curve"},
		{[]Coupling{{Follower: ValueRef{1, 0}, Law: curveOf(0, 0)}}, "coupling 1: its law is wrong: a curve of 1 points: give 2 to 10000"},
		{[]Coupling{{Follower: ValueRef{1, 0}, Law: curveOf(0, 0, 0, 1)}}, "coupling 1: its law is wrong: curve point 2: its driver value 0 is not above 0 before it: sort the points and give each once"},
		{[]Coupling{{Follower: ValueRef{1, 0}, Law: curveOf(0, 0, nan, 1)}}, "coupling 1: its law is wrong: curve point 2 (NaN, 1) is not finite"},
		{[]Coupling{{Follower: ValueRef{1, 0}, Law: curveOf(0, 0, 1e-300, 1)}}, "coupling 1: its law is wrong: curve points 1 and 2 are too close together: leave one out"},
		{[]Coupling{ratio(0, 0, 1)}, `couplings form a ring (joint "a" -> joint "a"): break it at one of them`},
		{[]Coupling{ratio(0, 1, 1), ratio(1, 5, 1), {Driver: ValueRef{5, 0}, Follower: ValueRef{0, 0}, Law: Law{Kind: LawRatio}}}, `couplings form a ring (joint "b" -> joint "u" (turn about hinge) -> joint "a" -> joint "b"): break it at one of them`},
	} {
		got, err := NewCouplings(tree, c.list)
		wantText(t, err, c.want)
		var ce *CouplingError
		var ring *CycleError
		if got != nil || !errors.As(err, &ce) && !errors.As(err, &ring) {
			t.Errorf("%v beside an error of type %T", got, err)
		}
	}
	for _, err := range []error{
		second(GearLaw(0, 3, false)), second(GearLaw(3, -1, true)), second(BeltLaw(0, 1, false)), second(BeltLaw(1, nan, false)),
		second(BeltLaw(1e300, 1e-300, true)), second(RackLaw(0, 1)), second(RackLaw(12, math.Inf(1))),
	} {
		if err == nil {
			t.Error("a wheel without size is accepted")
		}
	}
	none, err := NewCouplings(tree, nil)
	if err != nil || len(none.Free()) != 7 || len(none.Limits()) != 0 {
		t.Errorf("no couplings: %v, %v", none, err)
	}
	f, err := curveOf(0, 0, 1, 1).Function()
	if err != nil || !math.IsNaN(f.Value(nan)) || !math.IsNaN(f.Slope(nan)) {
		t.Errorf("NaN driver gives %v, %v", f.Value(nan), err)
	}
}

func second(_ Law, err error) error { return err }

func BenchmarkCouplingsApply(b *testing.B) {
	b.ReportAllocs()
	c, err := NewCouplings(trainTree(b), []Coupling{
		ratio(0, 1, -2), ratio(1, 2, 3),
		{Driver: ValueRef{2, 0}, Follower: ValueRef{5, 1}, Law: curveOf(-1, 0, 0, 1, 1, 0)},
	})
	if err != nil {
		b.Fatal(err)
	}
	values := c.Zero()
	for b.Loop() {
		values[0] = 0.1
		c.Apply(values)
	}
}
