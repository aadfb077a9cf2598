package sweep

import (
	"context"
	"errors"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

func TestBadLimbsAreRefusedInOneSentence(t *testing.T) {
	box := []*mesh.Mesh{meshtest.Box(r3.Vec{X: 1}, r3.Vec{X: 2, Y: 1, Z: 1})}
	joint := func(k kinematics.Kind) kinematics.Joint {
		return kinematics.Joint{Name: "knee", Kind: k, Frame: upFrame(), Pitch: 0.1}
	}
	noFrame := kinematics.Joint{Kind: kinematics.Revolute}
	for _, c := range []struct {
		name  string
		link  Link
		cells int
		want  string
	}{
		{"unknown kind", Link{Bodies: box, Joint: joint("rubber")}, 0, "not known"},
		{"no frame", Link{Bodies: box, Joint: noFrame}, 0, "frame"},
		{"endless slide", Link{Bodies: box, Joint: joint(kinematics.Prismatic)}, 0, "has no end; give it limits"},
		{"endless screw", Link{Bodies: box, Joint: joint(kinematics.Helical)}, 0, "has no end; give it limits"},
		{"wrong count", Link{Bodies: box, Joint: joint(kinematics.Planar), Over: make([]kinematics.Range, 2)}, 0, "2 ranges for a planar joint, want 3"},
		{"backward", Link{Bodies: box, Joint: joint(kinematics.Revolute), Over: []kinematics.Range{{Lower: 1}}}, 0, "range"},
		{"nothing", Link{Joint: joint(kinematics.Revolute)}, 0, "has no faces"},
		{"nothing to screw", Link{Joint: joint(kinematics.Helical), Over: []kinematics.Range{{Upper: 1}}}, 0, "has no faces"},
		{"nil body", Link{Bodies: []*mesh.Mesh{nil}, Joint: joint(kinematics.Helical), Over: []kinematics.Range{{Upper: 1}}}, 0, "body 0 is missing"},
		{"too fine", Link{Bodies: box, Joint: joint(kinematics.Helical), Over: []kinematics.Range{{Upper: 1}}}, 2000, "too many for a screw"},
		{"bad cells", Link{Bodies: box, Joint: joint(kinematics.Helical), Over: []kinematics.Range{{Upper: 1}}}, 5, "resolution is 5 cells"},
		{"bad joint beyond", Link{Bodies: box, Joint: joint(kinematics.Revolute), Next: []Link{{Bodies: box, Joint: joint(kinematics.Prismatic)}}}, 0, `joint "knee"`},
	} {
		_, err := Limb(context.Background(), c.link, Options{Resolution: c.cells})
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: error is %v, want one that says %q", c.name, err, c.want)
		}
	}
}

func TestLimbsCancelAndTellProgress(t *testing.T) {
	arm := sweptArm(rand.New(rand.NewPCG(2, 2)), []kinematics.Kind{kinematics.Revolute, kinematics.Spherical})
	var last float64
	_, err := Limb(context.Background(), arm, Options{Resolution: 20, Progress: func(done float64, what string) {
		if done < last || done > 1 || what == "" {
			t.Errorf("progress %v %q after %v", done, what, last)
		}
		last = done
	}})
	if err != nil || last != 1 {
		t.Errorf("error %v, progress ended at %v, want 1", err, last)
	}
	for _, when := range []float64{0.1, 0.4, 0.9} {
		ctx, cancel := context.WithCancel(context.Background())
		_, err = Limb(ctx, arm, Options{Resolution: 20, Progress: func(done float64, _ string) {
			if done > when {
				cancel()
			}
		}})
		if cancel(); !errors.Is(err, context.Canceled) {
			t.Errorf("after %v: error is %v, want context.Canceled", when, err)
		}
	}
}
