package kinematics

import (
	"errors"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func refersTo(joint string, dir r3.Vec) FrameSpec {
	return FrameSpec{Datum: Axis{Dir: dir}, Reach: Aim{At: Reference{Kind: FromJoint, Joint: joint}}}
}

func TestBuildAllFollowsReferences(t *testing.T) {
	recipes := []Recipe{
		{Joint: "wrist", Spec: refersTo("elbow", v3(0, 1, 1))},
		{Joint: "elbow", Spec: refersTo("shoulder", v3(0, 0, 1))},
		{Joint: "shoulder", Spec: FrameSpec{Datum: Axis{Dir: v3(0, 0, 1)}, Reach: Aim{Angle: deg(90)}}},
	}
	frames, err := BuildAll(recipes)
	if err != nil {
		t.Fatal(err)
	}
	nearVec(t, "shoulder reach", frames[2].Reach, v3(0, 1, 0), 1e-15)
	nearVec(t, "elbow reach", frames[1].Reach, v3(0, 1, 0), 1e-15)
	nearVec(t, "wrist reach", frames[0].Reach, unit(v3(0, 1, -1)), 1e-15)
}

// The order of the joints changes nothing.
func TestBuildAllOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "n")
		recipes := make([]Recipe, n)
		for i := range recipes {
			recipes[i] = Recipe{Joint: string(rune('a' + i)), Spec: FrameSpec{Datum: genAxis(5).Draw(t, "datum")}}
			if i > 0 && rapid.Bool().Draw(t, "refers") {
				to := rapid.IntRange(0, i-1).Draw(t, "to")
				recipes[i].Spec.Reach.At = Reference{Kind: FromJoint, Joint: recipes[to].Joint}
			}
		}
		want, err := BuildAll(recipes)
		if err != nil {
			t.Skip("degenerate reference")
		}
		shuffled := rapid.Permutation(recipes).Draw(t, "shuffled")
		got, err := BuildAll(shuffled)
		if err != nil {
			t.Fatalf("%v", err)
		}
		for i, r := range shuffled {
			k := slices.IndexFunc(recipes, func(q Recipe) bool { return q.Joint == r.Joint })
			if got[i] != want[k] {
				t.Errorf("joint %s: %v, in another order %v", r.Joint, got[i], want[k])
			}
		}
	})
}

func TestBuildAllBadInput(t *testing.T) {
	_, err := BuildAll([]Recipe{
		{Joint: "start", Spec: refersTo("a", v3(0, 0, 1))},
		{Joint: "a", Spec: refersTo("b", v3(0, 0, 1))},
		{Joint: "b", Spec: refersTo("c", v3(0, 0, 1))},
		{Joint: "c", Spec: refersTo("a", v3(0, 0, 1))},
	})
	wantText(t, err, "frame references form a ring (a -> b -> c -> a): break it at one of them")
	var ring *CycleError
	if !errors.As(err, &ring) || len(ring.Joints) != 4 {
		t.Errorf("ring: %#v", err)
	}
	_, err = BuildAll([]Recipe{{Joint: "a", Spec: refersTo("a", v3(0, 0, 1))}})
	wantText(t, err, "frame references form a ring (a -> a): break it at one of them")
	_, err = BuildAll([]Recipe{{Joint: "a"}, {Joint: "a"}})
	wantText(t, err, `joint "a": two joints have this name: rename one`)
	_, err = BuildAll([]Recipe{{Joint: "a", Spec: refersTo("b", v3(0, 0, 1))}})
	wantText(t, err, `joint "a": its frame cannot be built: reach: the frame refers to joint "b", which does not exist: choose another reference`)
	var missing *ReferenceError
	if !errors.As(err, &missing) || missing.Joint != "b" {
		t.Errorf("missing joint: %#v", err)
	}
	if frames, err := BuildAll(nil); err != nil || len(frames) != 0 {
		t.Errorf("no recipes: %v, %v", frames, err)
	}
}
