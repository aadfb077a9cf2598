package handover_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/handover"
	"pintle/assets"
	"pintle/kinematics"
)

// bridge is the drawbridge with its joints as generated, and a pose that names
// the leaf alone.
func bridge(t *testing.T) *doc.Session {
	t.Helper()
	var known struct {
		Joints []struct {
			Name, Type, Parent, Child string
			Origin, Axis              [3]float64
		}
	}
	path := filepath.Join(t.TempDir(), "bridge.obj")
	for _, d := range assets.Demos() {
		if d.Name == "drawbridge" {
			if err := json.Unmarshal(d.Truth, &known); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, d.OBJ, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	s, err := doc.OpenModel(context.Background(), path, doc.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	d := s.Doc
	for _, k := range known.Joints {
		o, a := k.Origin, k.Axis
		axis, err := kinematics.NewAxis(r3.Vec{X: o[0], Y: o[1], Z: o[2]}, r3.Vec{X: a[0], Y: a[1], Z: a[2]})
		if err != nil {
			t.Fatal(err)
		}
		if d, err = d.AddJoint(doc.Joint{
			Name: k.Name, Kind: kinematics.Kind(k.Type), Parent: k.Parent, Child: k.Child, Spec: kinematics.FrameSpec{Datum: axis},
			Frame:   kinematics.Frame{Origin: axis.Point, Hinge: axis.Dir, Reach: kinematics.Perpendicular(axis.Dir)},
			Letters: kinematics.DenavitHartenberg(), Closes: d.JointOf(k.Child) >= 0,
		}); err != nil {
			t.Fatal(err)
		}
	}
	if d, err = d.SetPose(doc.Pose{Name: "down", Values: []doc.JointValue{{Joint: "leaf hinge", Values: []float64{kinematics.Radians(-30)}}}}); err != nil {
		t.Fatal(err)
	}
	if s, err = s.With(d); err != nil {
		t.Fatal(err)
	}
	return s
}

// A pose leaves with the values of the whole loop, so that the strut closes for
// those who cannot solve it.
func TestPosesOfLoopsLeaveSolved(t *testing.T) {
	s := bridge(t)
	spec, err := handover.NewSpec(context.Background(), s, t.TempDir(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(spec.Poses) != 1 || len(spec.Poses[0].Values) != 4 {
		t.Fatalf("poses %+v", spec.Poses)
	}
	tree, err := s.Tree()
	if err != nil {
		t.Fatal(err)
	}
	values := tree.Zero()
	for i, v := range spec.Poses[0].Values {
		if v.Joint != s.Doc.Joints[i].Name || len(v.Values) != 1 {
			t.Fatalf("value %d: %+v", i, v)
		}
		values[i] = v.Values[0]
		if s.Doc.Joints[i].Kind.Turns() {
			values[i] = kinematics.Radians(v.Values[0])
		}
	}
	if math.Abs(values[0]-kinematics.Radians(-30)) > 1e-12 || values[1] == 0 || values[2] == 0 || values[3] == 0 {
		t.Errorf("values %v", values)
	}
	motions := tree.FK(values)
	head := s.Doc.Joints[3].Frame.Origin
	on := func(part string) r3.Vec { return motions[s.Doc.PartIndex(part)].Apply(head) }
	if gap := r3.Norm(r3.Sub(on("leaf"), on("strut rod"))); gap > 1e-5 {
		t.Errorf("the strut is %v off its eye", gap)
	}
	data, err := json.Marshal(spec)
	if err != nil {
		t.Fatal(err)
	}
	var v any
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	if err := compiled(t).Validate(v); err != nil {
		t.Error(err)
	}
}
