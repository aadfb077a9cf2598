package handover_test

import (
	"context"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"pintle/app/doc"
	"pintle/app/handover"
	"pintle/kinematics"
)

// Every kind of joint leaves with a range for each freedom, its cone and its
// couplings in degrees and model units, and the schema holds what is written.
func TestSpecOfEveryKind(t *testing.T) {
	check := compiled(t)
	for _, kind := range kinematics.Kinds() {
		t.Run(string(kind), func(t *testing.T) {
			s := mechanism(t)
			d, err := s.ChangeJoint("weld", func(j doc.Joint) doc.Joint {
				j = j.WithKind(kind)
				for i := range kind.Freedoms() {
					r := kinematics.Range{Lower: -math.Pi / 6, Upper: math.Inf(1)}
					j = j.WithLimit(i, &r)
				}
				if kind.Leans() {
					j.Cone = &kinematics.Cone{Max: []float64{math.Pi / 4, math.Pi / 6}}
				}
				return j
			})
			if err != nil {
				t.Fatal(err)
			}
			if n := kind.Freedoms(); n > 0 {
				if d, err = d.SetCoupling(doc.Coupling{
					Driver: doc.ValueRef{Joint: "swing"}, Follower: doc.ValueRef{Joint: "weld", Freedom: n - 1},
					Law: kinematics.Law{Kind: kinematics.LawCurve, Curve: []kinematics.CurvePoint{{}, {Driver: math.Pi / 2, Follower: math.Pi}}},
				}); err != nil {
					t.Fatal(err)
				}
				if d, err = d.SetPose(doc.Pose{Name: "bent", Values: []doc.JointValue{{Joint: "weld", Values: []float64{math.Pi / 6}}}}); err != nil {
					t.Fatal(err)
				}
			}
			if s, err = s.With(d); err != nil {
				t.Fatal(err)
			}
			v := specJSON(t, s)
			if err := check.Validate(v); err != nil {
				t.Errorf("%v", err)
			}
			spec, err := handover.NewSpec(context.Background(), s, "/", nil)
			if err != nil {
				t.Fatal(err)
			}
			j := spec.Joints[3]
			if j.Type != kind || len(j.Freedoms) != kind.Freedoms() || (len(j.Cone) == 2) != kind.Leans() {
				t.Fatalf("joint %+v", j)
			}
			for i, f := range j.Freedoms {
				lower, unit := -math.Pi/6, "length"
				if kind.Freedom(i).Turns {
					lower, unit = -30, "degree"
				}
				if math.Abs(float64(f.Lower)-lower) > 1e-12 || !math.IsInf(float64(f.Upper), 1) || f.Unit != unit || f.About != kind.Freedom(i).About {
					t.Errorf("freedom %d: %+v", i, f)
				}
			}
			if kind == kinematics.Fixed {
				return
			}
			last := spec.Couplings[len(spec.Couplings)-1]
			end := math.Pi
			if kind.Freedom(kind.Freedoms() - 1).Turns {
				end = 180
			}
			if len(last.Curve) != 2 || last.Ratio != nil || float64(last.Curve[1][0]) != 90 || math.Abs(float64(last.Curve[1][1])-end) > 1e-12 {
				t.Errorf("coupling %+v", last)
			}
			if n := len(spec.Poses[1].Values[0].Values); n != kind.Freedoms() {
				t.Errorf("a pose of %d values", n)
			}
		})
	}
}

// A hinge that drives a slider by 10 pi mm for a quarter turn: 20/pi x pi/180 mm a
// degree.
func TestSpecCouplingIsPerDegree(t *testing.T) {
	spec, err := handover.NewSpec(context.Background(), coupled(t), "/", nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(spec.Couplings) != 1 || spec.Couplings[0].Ratio == nil {
		t.Fatalf("couplings %+v", spec.Couplings)
	}
	c := spec.Couplings[0]
	if diff := cmp.Diff(0.1, float64(*c.Ratio), cmpopts.EquateApprox(1e-15, 0)); diff != "" || c.Driver.Joint != "swing" || c.Follower.Joint != "slide" {
		t.Errorf("%+v, %s", c, diff)
	}
}
