package doc

import (
	"context"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

// beads is a row of unit boxes along X with the given gaps between them.
func beads(t rapid.TB, gap ...float64) *Session {
	t.Helper()
	m := &mesh.Model{Unit: mesh.Millimetre, Up: mesh.UpZ}
	x := 0.0
	for i := range len(gap) + 1 {
		m.Parts = append(m.Parts, mesh.Part{
			Name: string(rune('a' + i)),
			Mesh: meshtest.Box(r3.Vec{X: x}, r3.Vec{X: x + 1, Y: 1, Z: 1}),
		})
		if i < len(gap) {
			x += 1 + gap[i]
		}
	}
	s, err := NewSession(New(ModelRef{Path: "/beads.obj"}, m), m)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func hinged(t rapid.TB, s *Session, parent, child string) *Session {
	t.Helper()
	d, err := s.Doc.AddJoint(Joint{
		Name: child, Kind: kinematics.Revolute, Parent: parent, Child: child, Letters: kinematics.DenavitHartenberg(),
		Spec:  kinematics.FrameSpec{Datum: kinematics.Axis{Dir: r3.Vec{Z: 1}}},
		Frame: kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}},
	})
	if err != nil {
		t.Fatal(err)
	}
	n, err := s.With(d)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestRidersFollowTheNearestPart(t *testing.T) {
	s := beads(t, 0.01, 0.02, 0.01, 0.03, 3)
	if got := s.Riders(); !slices.Equal(got, []int{-1, -1, -1, -1, -1, -1}) {
		t.Errorf("without joints %v ride", got)
	}
	s = hinged(t, s, "b", "c")
	// a rides on b, d on c, e on d; f is too far from all.
	if got, want := s.Riders(), []int{1, -1, -1, 2, 3, -1}; !slices.Equal(got, want) {
		t.Errorf("riders %v, want %v", got, want)
	}
	moving, still := s.MovingParts(s.Doc.Joints[0])
	if !slices.Equal(moving, []int{2, 3, 4}) || !slices.Equal(still, []int{0, 1, 5}) {
		t.Errorf("moving %v, still %v", moving, still)
	}
	tree, err := s.Tree()
	if err != nil {
		t.Fatal(err)
	}
	x := tree.FK([]float64{1})
	if x[4] != x[2] || x[0] != kinematics.Identity() {
		t.Error("the riders do not move with what they ride on")
	}
}

func TestAJointEndsARide(t *testing.T) {
	s := hinged(t, hinged(t, beads(t, 0.01, 0.01, 0.01), "b", "c"), "c", "d")
	if got := s.Riders(); got[3] != -1 {
		t.Errorf("part d has a joint and still rides on %d", got[3])
	}
}

func TestRidersNeverFormARing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gap := rapid.SliceOfN(rapid.Float64Range(0, 0.4), 2, 7).Draw(t, "gap")
		s := beads(t, gap...)
		k := rapid.IntRange(0, len(gap)-1).Draw(t, "joint")
		s = hinged(t, s, s.Parts[k].Name, s.Parts[k+1].Name)
		riders := s.Riders()
		for i := range riders {
			steps := 0
			for at := i; riders[at] >= 0; at = riders[at] {
				if steps++; steps > len(riders) {
					t.Fatalf("riders %v form a ring", riders)
				}
			}
		}
		if _, err := s.Tree(); err != nil {
			t.Fatalf("riders %v: %v", riders, err)
		}
	})
}

func TestPrepareRidersStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := beads(t, 0.1).prepareRiders(ctx, nil); err != context.Canceled {
		t.Errorf("error %v, want %v", err, context.Canceled)
	}
}
