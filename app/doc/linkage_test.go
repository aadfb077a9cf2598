package doc_test

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/assets"
	"pintle/kinematics"
	"pintle/kinematics/loop"
)

// drawbridge opens the demo with its joints as generated; the strut's head
// closes the loop.
func drawbridge(t *testing.T) *doc.Session {
	t.Helper()
	s, _ := demo(t, "drawbridge")
	var known struct {
		Joints []struct {
			Name, Type, Parent, Child string
			Origin, Axis              [3]float64
			Lower, Upper, Value       float64
		}
	}
	for _, d := range assets.Demos() {
		if d.Name == "drawbridge" {
			if err := json.Unmarshal(d.Truth, &known); err != nil {
				t.Fatal(err)
			}
		}
	}
	d := s.Doc
	for _, k := range known.Joints {
		axis := axisOf(k.Origin, k.Axis)
		j := doc.Joint{
			Name: k.Name, Kind: kinematics.Kind(k.Type), Parent: k.Parent, Child: k.Child,
			Spec:    kinematics.FrameSpec{Datum: axis},
			Frame:   kinematics.Frame{Origin: axis.Point, Hinge: axis.Dir, Reach: kinematics.Perpendicular(axis.Dir)},
			Limits:  []kinematics.Range{{Lower: k.Lower - k.Value, Upper: k.Upper - k.Value}},
			Letters: kinematics.DenavitHartenberg(), Closes: d.JointOf(k.Child) >= 0,
		}
		d = must[doc.Document](t)(d.AddJoint(j))
	}
	return must[*doc.Session](t)(s.With(d))
}

// apart is how far the strut's head is from its eye on the leaf at a pose.
func apart(t *testing.T, s *doc.Session, joints map[string][]float64) (values []float64, gap float64) {
	t.Helper()
	tree := must[*kinematics.Tree](t)(s.Tree())
	values = must[[]float64](t)(s.Values(tree, joints))
	motions := tree.FK(values)
	head := s.Doc.Joints[s.Doc.JointIndex("strut head")].Frame.Origin
	on := func(part string) r3.Vec { return motions[s.Doc.PartIndex(part)].Apply(head) }
	return values, r3.Norm(r3.Sub(on("leaf"), on("strut rod")))
}

func TestTheDrawbridgeMovesAsALoop(t *testing.T) {
	s := drawbridge(t)
	all := must[*doc.Linkages](t)(s.Linkages())
	if len(all.List) != 1 || all.List[0].Problem != nil {
		t.Fatalf("linkages %+v", all.List)
	}
	n := all.List[0]
	if !slices.Equal(n.Joints, []string{"leaf hinge", "strut foot", "strut slide", "strut head"}) || !slices.Equal(n.Closing, []string{"strut head"}) || !slices.Equal(n.Drivers, []doc.ValueRef{{Joint: "leaf hinge"}}) {
		t.Fatalf("linkage %+v", n)
	}
	for _, open := range []float64{-37, -20, 10, 20, 26} {
		values, gap := apart(t, s, map[string][]float64{"leaf hinge": {kinematics.Radians(open)}})
		if gap > 1e-5 {
			t.Errorf("at %v the strut is %v off its eye", open, gap)
		}
		// By the law of cosines, from the generator's own numbers.
		phi := math.Atan2(-40, 300) + kinematics.Radians(37+open)
		length := math.Hypot(300*math.Cos(kinematics.Radians(37+open))+40*math.Sin(kinematics.Radians(37+open))-46,
			300*math.Sin(kinematics.Radians(37+open))-40*math.Cos(kinematics.Radians(37+open))+196)
		rest := math.Hypot(300*math.Cos(kinematics.Radians(37))+40*math.Sin(kinematics.Radians(37))-46,
			300*math.Sin(kinematics.Radians(37))-40*math.Cos(kinematics.Radians(37))+196)
		if math.Abs(values[2]-(length-rest)) > 1e-5 {
			t.Errorf("at %v (%v) the slide is at %v, want %v", open, phi, values[2], length-rest)
		}
	}
	// Beyond its limit the leaf stays where the strut or its own limit holds it.
	values, gap := apart(t, s, map[string][]float64{"leaf hinge": {1}})
	if math.Abs(values[0]-kinematics.Radians(26)) > 1e-8 || gap > 1e-5 {
		t.Errorf("the leaf goes to %v, the strut is %v off", kinematics.Degrees(values[0]), gap)
	}
}

func TestAnyJointOfALoopCanBePulled(t *testing.T) {
	s := drawbridge(t)
	tree := must[*kinematics.Tree](t)(s.Tree())
	for _, joint := range []string{"strut foot", "strut slide", "strut head", "leaf hinge"} {
		to := 0.02
		if joint == "strut slide" {
			to = 20
		}
		drive := must[map[doc.ValueRef]float64](t)(s.Drive(tree.Zero(), doc.ValueRef{Joint: joint}, to))
		at, ok := drive[doc.ValueRef{Joint: "leaf hinge"}]
		if !ok || len(drive) != 1 {
			t.Fatalf("%s: drivers %v", joint, drive)
		}
		values, _ := apart(t, s, map[string][]float64{"leaf hinge": {at}})
		first, _ := tree.ValueIndex(s.Doc.JointIndex(joint))
		if math.Abs(values[first]-to) > 1e-9*math.Max(1, to) {
			t.Errorf("%s comes to %v, want %v", joint, values[first], to)
		}
	}
	driven := must[doc.Document](t)(s.Doc.SetDriver(doc.ValueRef{Joint: "strut slide"}))
	s = must[*doc.Session](t)(s.With(driven))
	values, gap := apart(t, s, map[string][]float64{"strut slide": {-30}})
	if gap > 1e-5 || values[2] != -30 || values[0] >= 0 {
		t.Errorf("driven by its strut the bridge stands at %v, %v off", values, gap)
	}
}

func TestLoopsAreSavedEditedAndRefused(t *testing.T) {
	s := drawbridge(t)
	d := must[doc.Document](t)(s.Doc.SetDriver(doc.ValueRef{Joint: "strut slide"}))
	back := must[doc.Document](t)(doc.Decode(must[[]byte](t)(doc.Encode(d, "")), ""))
	if !back.Equal(d) || !back.Joints[3].Closes || !slices.Equal(back.Drivers, d.Drivers) {
		t.Errorf("read back as %+v, %+v", back.Joints[3], back.Drivers)
	}
	renamed := must[doc.Document](t)(d.EditJoint("strut slide", func(j doc.Joint) doc.Joint { j.Name = "rod"; return j }))
	if renamed.Drivers[0].Joint != "rod" {
		t.Errorf("drivers %v", renamed.Drivers)
	}
	gone := must[doc.Document](t)(d.RemoveJoint("strut slide"))
	if len(gone.Drivers) != 0 || gone.Joints[2].Closes {
		t.Errorf("without the slide: %+v, drivers %v", gone.Joints[2], gone.Drivers)
	}
	ball := must[doc.Document](t)(d.EditJoint("strut slide", func(j doc.Joint) doc.Joint { return j.WithKind(kinematics.Fixed) }))
	if len(ball.Drivers) != 0 {
		t.Errorf("a fixed joint drives: %v", ball.Drivers)
	}
	for want, list := range map[string][]doc.ValueRef{
		`a driver: there is no joint "toe"`:                                {{Joint: "toe"}},
		`a driver: a prismatic joint such as "strut slide" has no value 1`: {{Joint: "strut slide", Freedom: 1}},
		`joint "strut slide" stands twice among the drivers`:               {{Joint: "strut slide"}, {Joint: "strut slide"}},
	} {
		e := d
		e.Drivers = list
		if err := e.Validate(); err == nil || err.Error() != want {
			t.Errorf("error %v, want %s", err, want)
		}
	}
}

func TestProofsOfALoopLeaveOutWhatMovesAlong(t *testing.T) {
	s := drawbridge(t)
	names := func(list []int) string {
		var out []string
		for _, p := range list {
			out = append(out, s.Parts[p].Name)
		}
		return strings.Join(out, ", ")
	}
	for joint, want := range map[string][2]string{
		"leaf hinge": {"leaf", "abutment"}, "strut foot": {"strut barrel", "abutment"},
		"strut slide": {"strut rod", "strut barrel"}, "strut head": {"strut rod", "leaf"},
	} {
		moving, still := s.MovingParts(s.Doc.Joints[s.Doc.JointIndex(joint)])
		if names(moving) != want[0] || names(still) != want[1] {
			t.Errorf("%s: %s against %s, want %v", joint, names(moving), names(still), want)
		}
	}
	text := func(joint string) (string, *doc.Motion) {
		found, m, err := s.Prove(context.Background(), s.Doc.Joints[s.Doc.JointIndex(joint)], nil)
		if err != nil || m == nil {
			t.Fatal(m, err)
		}
		out := ""
		for _, f := range found {
			out += string(f.Severity) + " " + string(f.Kind) + ": " + f.Text + "\n"
		}
		return out, m
	}
	if found, m := text("strut foot"); m.Loop != nil || !strings.Contains(found, `note loop_apart: leaf, strut rod move otherwise in the loop: joint "leaf hinge", which drives it, tells where they meet`) {
		t.Errorf("findings\n%s", found)
	}
	// Within its limits nothing in the loop meets.
	found, m := text("leaf hinge")
	if m.Loop == nil || m.Loop.Lower != nil || m.Loop.Upper != nil || strings.Contains(found, "loop_meets") {
		t.Errorf("loop %+v, findings\n%s", m.Loop, found)
	}
	// Without them the leaf comes down on the strut's barrel.
	d := s.Doc
	for _, j := range s.Doc.Joints {
		d = must[doc.Document](t)(d.EditJoint(j.Name, func(j doc.Joint) doc.Joint { j.Limits = nil; return j }))
	}
	s = must[*doc.Session](t)(s.With(d))
	found, m = text("leaf hinge")
	if m.Loop.Lower == nil || m.Loop.Lower.Value > kinematics.Radians(-37) || !strings.Contains(found, "note loop_meets: in the loop ") {
		t.Errorf("loop %+v, findings\n%s", m.Loop, found)
	}
}

// Axes that were measured a third of a degree off still make a loop that moves;
// how far it opens is told.
func TestALoopOfRoughAxesMovesAndTellsHowFarItOpens(t *testing.T) {
	s := drawbridge(t)
	d := s.Doc
	for i, joint := range []string{"strut foot", "strut head"} {
		d = must[doc.Document](t)(d.EditJoint(joint, func(j doc.Joint) doc.Joint {
			j.Frame.Hinge = r3.Unit(r3.Add(j.Frame.Hinge, r3.Scale(0.006*float64(1-2*i), j.Frame.Reach)))
			j.Frame.Reach = kinematics.Perpendicular(j.Frame.Hinge)
			return j
		}))
	}
	rough := must[*doc.Session](t)(s.With(d))
	pose := map[string][]float64{"leaf hinge": {-0.5}}
	values, gap := apart(t, rough, pose)
	want, _ := apart(t, s, pose)
	for i := range values {
		if math.Abs(values[i]-want[i]) > 0.02*math.Max(1, math.Abs(want[i])) {
			t.Errorf("value %d is %v, without the errors %v", i, values[i], want[i])
		}
	}
	if gap > 3 {
		t.Errorf("the strut is %v off its eye", gap)
	}
	found := rough.Findings(rough.Doc.Joints[0], nil)
	if !slices.ContainsFunc(found, func(f doc.Finding) bool {
		return f.Kind == doc.LoopOpens && f.Severity == doc.Check && f.Value > 0.1 && strings.HasPrefix(f.Text, "the loop opens by ")
	}) {
		t.Errorf("findings %+v", found)
	}
}

// A loop whose hinges do not run parallel cannot move: that is told, and the
// document still opens and poses.
func TestALoopThatCannotMoveIsTold(t *testing.T) {
	s := drawbridge(t)
	d := must[doc.Document](t)(s.Doc.EditJoint("strut foot", func(j doc.Joint) doc.Joint {
		j.Frame.Hinge = r3.Unit(r3.Add(j.Frame.Hinge, r3.Scale(0.1, j.Frame.Reach)))
		j.Frame.Reach = kinematics.Perpendicular(j.Frame.Hinge)
		return j
	}))
	s = must[*doc.Session](t)(s.With(d))
	values, _ := apart(t, s, map[string][]float64{"leaf hinge": {0.1}})
	if values[0] != 0.1 || values[1] != 0 {
		t.Errorf("values %v", values)
	}
	found := s.Findings(s.Doc.Joints[3], nil)
	if !slices.ContainsFunc(found, func(f doc.Finding) bool {
		return f.Kind == doc.LoopStuck && f.Severity == doc.Stop && strings.HasPrefix(f.Text, "its loop cannot be moved: the loop of \"strut head\" is rigid: ")
	}) {
		t.Errorf("findings %+v", found)
	}
	long := must[doc.Document](t)(drawbridge(t).Doc.EditJoint("strut slide", func(j doc.Joint) doc.Joint {
		return j.WithLimit(0, &kinematics.Range{Lower: -1000, Upper: 1000})
	}))
	s = must[*doc.Session](t)(s.With(long))
	found = s.Findings(s.Doc.Joints[2], nil)
	if !slices.ContainsFunc(found, func(f doc.Finding) bool {
		return f.Kind == doc.LoopStops && strings.HasPrefix(f.Text, "the upper limit of 1000 mm cannot be reached: the loop lets it go to ")
	}) {
		t.Errorf("findings %+v", found)
	}
}

// What a coupling says of a loop's driver holds, what it says of the others does
// not; either way the loop is closed.
func TestCouplingsKeepLoopsClosed(t *testing.T) {
	law := kinematics.Law{Kind: kinematics.LawRatio, Ratio: 0.001}
	s := drawbridge(t)
	for _, c := range []doc.Coupling{
		{Driver: doc.ValueRef{Joint: "strut slide"}, Follower: doc.ValueRef{Joint: "leaf hinge"}, Law: law},
		{Driver: doc.ValueRef{Joint: "leaf hinge"}, Follower: doc.ValueRef{Joint: "strut foot"}, Law: law},
	} {
		next := must[*doc.Session](t)(s.With(must[doc.Document](t)(s.Doc.SetCoupling(c))))
		values, gap := apart(t, next, map[string][]float64{"strut slide": {50}, "leaf hinge": {0.2}})
		if gap > 1e-5 || values[0] == 0 {
			t.Errorf("%s follows %s: values %v, %v off", c.Follower.Joint, c.Driver.Joint, values, gap)
		}
	}
}

// Joints found on the demo are accepted with the one that closes the loop, and
// move as measured: the loop closes as far as the fitted axes let it.
func TestFoundLoopsAreAcceptedAndMove(t *testing.T) {
	s, truth := demoSession(t, "drawbridge")
	p := found(t, s, truth)
	closing := slices.IndexFunc(p.List, func(x doc.Proposal) bool { return x.Loop })
	if closing < 0 {
		t.Fatal("no loop is found")
	}
	d, n, err := s.AcceptAbove(p, 0, nil)
	if err != nil || n != 4 {
		t.Fatalf("%d joints, %v", n, err)
	}
	s = must[*doc.Session](t)(s.With(d))
	all := must[*doc.Linkages](t)(s.Linkages())
	if len(all.List) != 1 || all.List[0].Problem != nil || len(all.List[0].Joints) != 4 {
		t.Fatalf("linkages %+v", all.List)
	}
	// The leaf hangs on its bearing and drives; the rod closes the loop.
	driver := all.List[0].Drivers[0]
	leaf := s.Doc.Joints[s.Doc.JointIndex("leaf")]
	if driver.Joint != "leaf" || leaf.Parent != "abutment" || leaf.Closes || !slices.Equal(all.List[0].Closing, []string{"strut rod to leaf"}) {
		t.Errorf("driven by %v, closed by %v; the leaf hangs on %s", driver, all.List[0].Closing, leaf.Parent)
	}
	tree := must[*kinematics.Tree](t)(s.Tree())
	for _, turn := range []float64{-0.5, -0.2, 0.3} {
		values := must[[]float64](t)(s.Values(tree, map[string][]float64{driver.Joint: {turn}}))
		moved := 0
		for _, v := range values {
			if math.Abs(v) > 1e-3 {
				moved++
			}
		}
		list := must[[]loop.Misfit](t)(all.List[0].Solver.Misfits(values))
		if moved != 4 || list[0].Length > 1e-3 || list[0].Angle > 1e-4 {
			t.Errorf("%s at %v: values %v, open by %+v", driver.Joint, turn, values, list)
		}
	}
}
