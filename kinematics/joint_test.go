package kinematics

import (
	"errors"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func genJoint(kind Kind) *rapid.Generator[Joint] {
	return rapid.Custom(func(t *rapid.T) Joint {
		return Joint{
			Kind: kind, Parent: World, Frame: genFrame(5).Draw(t, "frame"),
			Pitch: rapid.Float64Range(-1, 1).Draw(t, "pitch"),
		}
	})
}

func TestJointMotionClosedForm(t *testing.T) {
	f := Frame{Origin: v3(1, 0, 0), Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}
	p := v3(2, 0, 0)
	for _, c := range []struct {
		joint  Joint
		values []float64
		want   r3.Vec
	}{
		{Joint{Kind: Fixed, Frame: f}, []float64{5}, v3(2, 0, 0)},
		{Joint{Kind: Revolute, Frame: f}, []float64{quarter}, v3(1, 1, 0)},
		{Joint{Kind: Revolute, Frame: f}, []float64{-math.Pi}, v3(0, 0, 0)},
		{Joint{Kind: Prismatic, Frame: f}, []float64{-3}, v3(2, 0, -3)},
		// Lead 5 per turn, 45 degrees: 0.625 (standard texts on screws).
		{Joint{Kind: Helical, Frame: f, Pitch: 5 / (2 * math.Pi)}, []float64{math.Pi / 4}, v3(1+math.Sqrt2/2, math.Sqrt2/2, 0.625)},
		{Joint{Kind: Cylindric, Frame: f}, []float64{quarter, -3}, v3(1, 1, -3)},
		// The second turn of a universal joint is about the side as the first left it.
		{Joint{Kind: Universal, Frame: f}, []float64{quarter, 0}, v3(1, 1, 0)},
		{Joint{Kind: Universal, Frame: f}, []float64{0, quarter}, v3(1, 0, -1)},
		{Joint{Kind: Universal, Frame: f}, []float64{quarter, quarter}, v3(1, 0, -1)},
		{Joint{Kind: Universal, Frame: f}, []float64{quarter, math.Pi / 4}, v3(1, math.Sqrt2/2, -math.Sqrt2/2)},
		// A ball joint's reach leans by the length of the swing, whatever the twist.
		{Joint{Kind: Spherical, Frame: f}, []float64{quarter, 0, 0.3}, v3(1, 1, 0)},
		{Joint{Kind: Spherical, Frame: f}, []float64{0, quarter, -2}, v3(1, 0, -1)},
		{Joint{Kind: Spherical, Frame: f}, []float64{math.Pi / 3 / math.Sqrt2, math.Pi / 3 / math.Sqrt2, 1}, v3(1.5, math.Sqrt(3./8), -math.Sqrt(3./8))},
		{Joint{Kind: Planar, Frame: f}, []float64{2, 3, quarter}, v3(3, 4, 0)},
		{Joint{Kind: Planar, Frame: f}, []float64{2, 3}, v3(4, 3, 0)},
	} {
		nearVec(t, string(c.joint.Kind), c.joint.Motion(c.values...).Apply(p), c.want, 1e-15)
	}
}

// genValuesOf draws values of a kind; swings stay short of half a turn, where
// they are singular.
func genValuesOf(t *rapid.T, kind Kind, most float64) []float64 {
	n := kind.Freedoms()
	values := rapid.SliceOfN(rapid.Float64Range(-most, most), n, n).Draw(t, "values")
	if kind == Spherical {
		if _, polar := kind.Lean(values[0], values[1]); polar > 3 {
			values[0], values[1] = 3*values[0]/polar, 3*values[1]/polar
		}
	}
	return values
}

// matrixOf is the plain-matrix oracle: the product of gonum's exponentials of
// the 4x4 matrices of the kind's constant twists at value 0.
func matrixOf(j *Joint, v []float64) Transform {
	f := j.Frame
	about := func(d r3.Vec, v float64) Twist { return Axis{Point: f.Origin, Dir: d}.Twist(0).Scale(v) }
	along := func(d r3.Vec, v float64) Twist { return Twist{Linear: d}.Scale(v) }
	var factors []Twist
	switch j.Kind {
	case Revolute:
		factors = []Twist{about(f.Hinge, v[0])}
	case Prismatic:
		factors = []Twist{along(f.Hinge, v[0])}
	case Helical:
		factors = []Twist{f.Axis().Twist(j.Pitch).Scale(v[0])}
	case Cylindric:
		factors = []Twist{about(f.Hinge, v[0]), along(f.Hinge, v[1])}
	case Universal:
		factors = []Twist{about(f.Hinge, v[0]), about(f.Side(), v[1])}
	case Spherical:
		factors = []Twist{about(f.Hinge, v[0]).Add(about(f.Side(), v[1])), about(f.Reach, v[2])}
	case Planar:
		factors = []Twist{along(f.Reach, v[0]), along(f.Side(), v[1]), about(f.Hinge, v[2])}
	}
	m := dense(Identity())
	for _, w := range factors {
		var e, product mat.Dense
		e.Exp(twistMatrix(w))
		product.Mul(m, &e)
		m.Copy(&product)
	}
	return fromDense(m)
}

// TestEveryKind runs every joint kind through the same laws, so that a kind
// that is added is tested as it is added.
func TestEveryKind(t *testing.T) {
	for _, kind := range Kinds() {
		t.Run(string(kind), rapid.MakeCheck(func(t *rapid.T) {
			j := genJoint(kind).Draw(t, "joint")
			v := genValuesOf(t, kind, 7)
			x := j.Motion(v...)
			const tol = 2e-13
			if j.Motion() != Identity() {
				nearRows(t, "value 0 is as modelled", j.Motion(), Identity(), 0)
			}
			if err := x.Check(1e-13); err != nil {
				t.Errorf("%v", err)
			}
			nearRows(t, "matrix exponentials", x, matrixOf(&j, v), 1e-12)
			flipped := j.Flipped()
			nearRows(t, "flipped joint", flipped.Motion(kind.FlippedValues(v)...), x, tol)
			w := genMotion(5).Draw(t, "world")
			moved := j
			moved.Frame = w.Frame(j.Frame)
			nearRows(t, "world motion", moved.Motion(v...), w.Mul(x).Mul(w.Inverse()), tol)
			k := rapid.Float64Range(1e-3, 1e3).Draw(t, "scale")
			scaled, scaledValues := j, slices.Clone(v)
			scaled.Frame.Origin, scaled.Pitch = r3.Scale(k, j.Frame.Origin), k*j.Pitch
			for i := range v {
				if !kind.Freedom(i).Turns {
					scaledValues[i] *= k
				}
			}
			want := x
			want.T = r3.Scale(k, x.T)
			nearRows(t, "other units", scaled.Motion(scaledValues...), want, tol*max(1, k))
			nearRows(t, "the values of a motion make it", j.Motion(j.Values(nil, x)...), x, 1e-11)
			checkTwists(t, &j, v)
			if got := kind.Freedoms(); got == 0 && x != Identity() {
				t.Errorf("no freedoms, but the motion at %v is %v", v, x)
			}
		}))
	}
}

// checkTwists holds each twist against the slope of the motion.
func checkTwists(t *rapid.T, j *Joint, v []float64) {
	const h = 1e-6
	p := genPoint(5).Draw(t, "p")
	q := j.Motion(v...).Apply(p)
	for i, w := range j.Twists(v...) {
		up, down := slices.Clone(v), slices.Clone(v)
		up[i], down[i] = v[i]+h, v[i]-h
		slope := r3.Scale(1/(2*h), r3.Sub(j.Motion(up...).Apply(p), j.Motion(down...).Apply(p)))
		nearVec(t, "velocity by "+j.Kind.Freedom(i).String(), slope, w.At(q), 1e-7)
		f := j.Kind.Freedom(i)
		if (r3.Norm(w.Angular) > 0) != f.Turns {
			t.Errorf("%s has the twist %v", f, w)
		}
	}
}

// One-parameter groups: values of these kinds add.
func TestValuesAdd(t *testing.T) {
	for _, kind := range []Kind{Fixed, Revolute, Prismatic, Helical, Cylindric} {
		t.Run(string(kind), rapid.MakeCheck(func(t *rapid.T) {
			j := genJoint(kind).Draw(t, "joint")
			v, u := genValuesOf(t, kind, 7), genValuesOf(t, kind, 7)
			sum, minus := make([]float64, len(v)), make([]float64, len(v))
			for i := range v {
				sum[i], minus[i] = v[i]+u[i], -v[i]
			}
			nearRows(t, "values add", j.Motion(v...).Mul(j.Motion(u...)), j.Motion(sum...), 2e-13)
			nearRows(t, "the opposite values undo", j.Motion(minus...), j.Motion(v...).Inverse(), 2e-13)
			nearVec(t, "the hinge keeps its direction", j.Motion(v...).Turn(j.Frame.Hinge), j.Frame.Hinge, 2e-13)
		}))
	}
}

func TestRange(t *testing.T) {
	r := Range{-1, 2}
	for _, c := range []struct{ v, want float64 }{{-3, -1}, {-1, -1}, {0.5, 0.5}, {2, 2}, {7, 2}, {math.Inf(1), 2}} {
		if got := r.Clamp(c.v); got != c.want {
			t.Errorf("Clamp(%v) = %v, want %v", c.v, got, c.want)
		}
		if got := r.Contains(c.v); got != (c.v == c.want) {
			t.Errorf("Contains(%v) = %v", c.v, got)
		}
	}
	if !math.IsNaN(r.Clamp(math.NaN())) || r.Contains(math.NaN()) {
		t.Error("NaN is clamped or contained")
	}
	if r.Span() != 3 || r.Reversed() != (Range{-2, 1}) {
		t.Errorf("span %v, reversed %v", r.Span(), r.Reversed())
	}
	if z := (Range{}).Reversed(); math.Signbit(z.Lower) || math.Signbit(z.Upper) {
		t.Errorf("reversed zero range %v has a negative zero", z)
	}
	if err := (Range{math.Inf(-1), math.Inf(1)}).Check(); err != nil {
		t.Error(err)
	}
}

func TestJointBadInput(t *testing.T) {
	good := Frame{Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}
	nan := math.NaN()
	for _, c := range []struct {
		joint Joint
		want  string
	}{
		{Joint{Name: "elbow", Kind: "hinged", Frame: good}, `joint "elbow": kind "hinged" is not known: give one of [fixed revolute prismatic screw cylindric universal spherical planar]`},
		{Joint{Kind: Revolute}, "joint without name: its frame is wrong: not a joint frame: hinge is off unit length by 1, more than 1e-09: build the frame from its datum again"},
		{Joint{Name: "a", Kind: Revolute, Frame: good, Limits: []Range{{2, 1}}}, `joint "a": its limits are wrong: range from 2 to 1: give a lower end that is not above the upper one`},
		{Joint{Name: "a", Kind: Revolute, Frame: good, Limits: []Range{{nan, 1}}}, `joint "a": its limits are wrong: range from NaN to 1: give a lower end that is not above the upper one`},
		{Joint{Name: "a", Kind: Fixed, Frame: good, Limits: []Range{{}}}, `joint "a": its limits are wrong: 1 ranges for a fixed joint: give one for each of its 0 freedoms, or none`},
		{Joint{Name: "a", Kind: Planar, Frame: good, Limits: []Range{{}, {}}}, `joint "a": its limits are wrong: 2 ranges for a planar joint: give one for each of its 3 freedoms, or none`},
		{Joint{Name: "a", Kind: Universal, Frame: good, Limits: []Range{{}, {1, -1}}}, `joint "a": its limits are wrong: turn about side: range from 1 to -1: give a lower end that is not above the upper one`},
		{Joint{Name: "a", Kind: Revolute, Frame: good, Cone: &Cone{Max: []float64{1}}}, `joint "a": its limits are wrong: a revolute joint takes no cone: give its limits as ranges`},
		{Joint{Name: "a", Kind: Spherical, Frame: good, Cone: &Cone{}}, `joint "a": its limits are wrong: a cone of 0 angles: give 1 to 3600, evenly spaced over the azimuth`},
		{Joint{Name: "a", Kind: Spherical, Frame: good, Cone: &Cone{Max: []float64{1, nan}}}, `joint "a": its limits are wrong: cone angle NaN degrees: give 0 to 180`},
		{Joint{Name: "a", Kind: Spherical, Frame: good, Cone: &Cone{Max: []float64{1}}, Limits: []Range{{-1, 1}, {0.5, 1}, {0.5, 1}}}, `joint "a": its limits are wrong: swing about side: range from 0.5 to 1 leaves out the middle of the cone: give a range that holds 0`},
		{Joint{Name: "a", Kind: Helical, Frame: good, Pitch: nan}, `joint "a": pitch NaN is not finite: give the travel per radian`},
	} {
		err := c.joint.Check()
		wantText(t, err, c.want)
		var je *JointError
		if !errors.As(err, &je) {
			t.Errorf("error is %T", err)
		}
	}
	unknown := Joint{Kind: "hinged"}
	if unknown.Kind.Freedoms() != -1 || unknown.Motion(1) != Identity() || len(unknown.Twists(1)) != 0 || len(unknown.Values(nil, Identity())) != 0 {
		t.Error("an unknown kind moves")
	}
}

func BenchmarkJointMotion(b *testing.B) {
	for _, kind := range Kinds() {
		b.Run(string(kind), func(b *testing.B) {
			b.ReportAllocs()
			j := Joint{Kind: kind, Frame: Frame{Origin: v3(1, 2, 3), Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}, Pitch: 0.1}
			for b.Loop() {
				if x := j.Motion(0.3, 0.2, 0.1); x.X.X > 2 {
					b.Fatal(x)
				}
			}
		})
	}
}
