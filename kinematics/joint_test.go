package kinematics

import (
	"errors"
	"math"
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
		joint Joint
		value float64
		want  r3.Vec
	}{
		{Joint{Kind: Fixed, Frame: f}, 5, v3(2, 0, 0)},
		{Joint{Kind: Revolute, Frame: f}, math.Pi / 2, v3(1, 1, 0)},
		{Joint{Kind: Revolute, Frame: f}, -math.Pi, v3(0, 0, 0)},
		{Joint{Kind: Prismatic, Frame: f}, -3, v3(2, 0, -3)},
		// Lead 5 per turn, 45 degrees: 0.625 (standard texts on screws).
		{Joint{Kind: Helical, Frame: f, Pitch: 5 / (2 * math.Pi)}, math.Pi / 4, v3(1+math.Sqrt2/2, math.Sqrt2/2, 0.625)},
	} {
		nearVec(t, string(c.joint.Kind), c.joint.Motion(c.value).Apply(p), c.want, 1e-15)
	}
}

// TestEveryKind runs every joint kind through the same laws, so that a kind
// that is added is tested as it is added.
func TestEveryKind(t *testing.T) {
	for _, kind := range Kinds() {
		t.Run(string(kind), rapid.MakeCheck(func(t *rapid.T) {
			j := genJoint(kind).Draw(t, "joint")
			v := rapid.Float64Range(-7, 7).Draw(t, "value")
			u := rapid.Float64Range(-7, 7).Draw(t, "other value")
			x := j.Motion(v)
			const tol = 2e-13
			if j.Motion(0) != Identity() {
				nearRows(t, "value 0 is as modelled", j.Motion(0), Identity(), 0)
			}
			if err := x.Check(1e-13); err != nil {
				t.Errorf("%v", err)
			}
			nearRows(t, "values add", j.Motion(v).Mul(j.Motion(u)), j.Motion(v+u), tol)
			nearRows(t, "the opposite value undoes", j.Motion(-v), x.Inverse(), tol)
			nearVec(t, "the hinge keeps its direction", x.Turn(j.Frame.Hinge), j.Frame.Hinge, tol)
			flipped := j.Flipped()
			nearRows(t, "flipped joint", flipped.Motion(-v), x, tol)
			w := genMotion(5).Draw(t, "world")
			moved := j
			moved.Frame = w.Frame(j.Frame)
			nearRows(t, "world motion", moved.Motion(v), w.Mul(x).Mul(w.Inverse()), tol)
			// Oracle: gonum's exponential of the joint's twist as a 4x4 matrix.
			var e mat.Dense
			e.Exp(twistMatrix(j.Twist().Scale(v)))
			nearRows(t, "matrix exponential of the twist", x, fromDense(&e), 1e-12)
			// The twist is the derivative of the motion.
			const h = 1e-6
			p := genPoint(5).Draw(t, "p")
			slope := r3.Scale(1/(2*h), r3.Sub(j.Motion(h).Apply(p), j.Motion(-h).Apply(p)))
			w0 := j.Twist()
			nearVec(t, "velocity", slope, r3.Add(w0.Linear, r3.Cross(w0.Angular, p)), 1e-8)
			if got := kind.Freedoms(); (got > 0) != (x != Identity()) && v != 0 {
				t.Errorf("%d freedoms, but the motion at %v is %v", got, v, x)
			}
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
		{Joint{Name: "elbow", Kind: "hinged", Frame: good}, `joint "elbow": kind "hinged" is not known: give one of [fixed revolute prismatic screw]`},
		{Joint{Kind: Revolute}, "joint without name: its frame is wrong: not a joint frame: hinge is off unit length by 1, more than 1e-09: build the frame from its datum again"},
		{Joint{Name: "a", Kind: Revolute, Frame: good, Limits: &Range{2, 1}}, `joint "a": its limits are wrong: range from 2 to 1: give a lower end that is not above the upper one`},
		{Joint{Name: "a", Kind: Revolute, Frame: good, Limits: &Range{nan, 1}}, `joint "a": its limits are wrong: range from NaN to 1: give a lower end that is not above the upper one`},
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
	if unknown.Kind.Freedoms() != -1 || unknown.Motion(1) != Identity() || unknown.Twist() != (Twist{}) {
		t.Error("an unknown kind moves")
	}
}

func BenchmarkJointMotion(b *testing.B) {
	for _, kind := range Kinds() {
		b.Run(string(kind), func(b *testing.B) {
			b.ReportAllocs()
			j := Joint{Kind: kind, Frame: Frame{Origin: v3(1, 2, 3), Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}, Pitch: 0.1}
			for b.Loop() {
				if x := j.Motion(0.3); x.X.X > 2 {
					b.Fatal(x)
				}
			}
		})
	}
}
