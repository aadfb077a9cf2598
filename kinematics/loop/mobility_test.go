package loop

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// sarrus are two chains of three parallel hinges each, across each other,
// between a ground and a plate. Parts 0, 1, plate 2, 3, 4.
func sarrus() []kinematics.Joint {
	x, y := v3(1, 0, 0), v3(0, 1, 0)
	return []kinematics.Joint{
		pairAt("", kinematics.Revolute, kinematics.World, 0, v3(0, 1, 0), x),
		pairAt("", kinematics.Revolute, 0, 1, v3(0, 2, 0.8), x),
		pairAt("", kinematics.Revolute, 1, 2, v3(0, 1, 1.6), x),
		pairAt("", kinematics.Revolute, kinematics.World, 3, v3(1, 0, 0), y),
		pairAt("", kinematics.Revolute, 3, 4, v3(2, 0, 0.8), y),
		pairAt("", kinematics.Revolute, 4, 2, v3(1, 0, 1.6), y),
	}
}

// rssr are a crank about z that turns fully, a rocker about a line that moves
// the rod's end along the rod, and the rod between two balls on them. Parts:
// crank, rod, rocker.
func rssr(second kinematics.Kind) []kinematics.Joint {
	a, b := v3(0.6, 0, 0), v3(3, 2, 1)
	along := v3(-0.6, 0.8, 0.2)
	pin := r3.Add(b, r3.Scale(1.2, r3.Unit(r3.Cross(r3.Sub(b, a), along))))
	joints := []kinematics.Joint{
		pairAt("crank", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), z),
		pairAt("ball a", kinematics.Spherical, 0, 1, a, r3.Sub(b, a)),
		pairAt("rocker", kinematics.Revolute, kinematics.World, 2, pin, along),
		pairAt("end b", second, 1, 2, b, r3.Sub(b, a)),
	}
	// A universal joint's reach lies along the rod.
	f := &joints[3].Frame
	f.Hinge, f.Reach = f.Reach, f.Hinge
	return joints
}

// hexapod is the plate on six legs that can be lengthened: for each a universal
// joint, a slider and a ball (or two balls). Parts: two a leg, then the plate.
func hexapod(foot kinematics.Kind) []kinematics.Joint {
	var joints, closing []kinematics.Joint
	for i := range 6 {
		feet, tops := hexapodEnds(i)
		dir := r3.Sub(tops, feet)
		u := pairAt("", foot, kinematics.World, 2*i, feet, dir)
		u.Frame.Hinge, u.Frame.Reach = u.Frame.Reach, u.Frame.Hinge
		joints = append(joints, u, pairAt("leg", kinematics.Prismatic, 2*i, 2*i+1, tops, dir))
		top := pairAt("", kinematics.Spherical, 2*i+1, 12, tops, dir)
		if i == 0 {
			joints = append(joints, top)
		} else {
			closing = append(closing, top)
		}
	}
	return append(joints, closing...)
}

func hexapodEnds(i int) (foot, top r3.Vec) {
	at := func(r, a, h float64) r3.Vec { return v3(r*math.Cos(deg(a)), r*math.Sin(deg(a)), h) }
	third, side := float64(i/2)*120, float64(2*(i%2)-1)
	return at(3, third+side*15, 0), at(2, third+side*45, 2.5)
}

// Mobility of the classic linkages. Source of the counts: K. M. Lynch, F. C.
// Park, Modern Robotics (Cambridge 2017), chapter 2, and the Gruebler-Kutzbach
// formula recomputed; "actual" from the same texts.
func TestMobilityOfKnownLinkages(t *testing.T) {
	ball := []kinematics.Joint{
		pairAt("", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), z),
		pairAt("", kinematics.Revolute, 0, 1, v3(0, 0, 0), v3(0.5, 0, 1)),
		pairAt("", kinematics.Revolute, 1, 2, v3(0, 0, 0), v3(1, 1, 1)),
		pairAt("", kinematics.Revolute, kinematics.World, 2, v3(0, 0, 0), v3(0, 1, 0.6)),
	}
	five := []kinematics.Joint{
		pairAt("", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), z),
		pairAt("", kinematics.Revolute, 0, 1, v3(-1, 2, 0), z),
		pairAt("", kinematics.Revolute, kinematics.World, 2, v3(2, 0, 0), z),
		pairAt("", kinematics.Revolute, 2, 3, v3(3, 2, 0), z),
		pairAt("", kinematics.Revolute, 1, 3, v3(1, 3, 0), z),
	}
	parallel := []kinematics.Joint{ // three equal cranks on one coupler
		pairAt("", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), z),
		pairAt("", kinematics.Revolute, 0, 1, v3(0.5, 1, 0), z),
		pairAt("", kinematics.Revolute, kinematics.World, 2, v3(2, 0, 0), z),
		pairAt("", kinematics.Revolute, kinematics.World, 3, v3(4, 0, 0), z),
		pairAt("", kinematics.Revolute, 1, 2, v3(2.5, 1, 0), z),
		pairAt("", kinematics.Revolute, 1, 3, v3(4.5, 1, 0), z),
	}
	watt := append(bars(norton, deg(40), Open)[:3:3],
		pairAt("", kinematics.Revolute, 2, 3, v3(150, 30, 0), z),
		pairAt("", kinematics.Revolute, kinematics.World, 4, v3(260, 0, 0), z),
		bars(norton, deg(40), Open)[3],
		pairAt("", kinematics.Revolute, 3, 4, v3(230, 60, 0), z))
	for _, c := range []struct {
		name                        string
		parts, closing              int
		joints                      []kinematics.Joint
		values, kutzbach, freedoms_ int
	}{
		{"plane four-bar", 3, 1, bars(norton, deg(40), Open), 4, -2, 1},
		{"slider-crank", 3, 1, slider(SliderCrank{1, 3, 0}, 0.5, Open), 4, -2, 1},
		{"plane five-bar", 4, 1, five, 5, -1, 2},
		{"Watt six-bar", 5, 2, watt, 7, -5, 1},
		{"parallelogram with a third crank", 4, 2, parallel, 6, -6, 1},
		{"RSSR: the rod may spin", 3, 1, rssr(kinematics.Spherical), 8, 2, 2},
		{"RSUR", 3, 1, rssr(kinematics.Universal), 7, 1, 1},
		{"spherical four-bar", 3, 1, ball, 4, -2, 1},
		{"Bennett", 3, 1, bennett(1, math.Sqrt(3), deg(30), deg(60), deg(60), 2*math.Atan((1+math.Sqrt(3))/math.Tan(deg(30)))), 4, -2, 1},
		{"Sarrus", 5, 1, sarrus(), 6, 0, 1},
		{"Gough-Stewart 6-UPS", 13, 5, hexapod(kinematics.Universal), 36, 6, 6},
		{"Gough-Stewart 6-SPS: the legs may spin", 13, 5, hexapod(kinematics.Spherical), 42, 12, 12},
	} {
		n := len(c.joints) - c.closing
		tree, err := kinematics.NewTree(c.parts, c.joints[:n])
		if err != nil {
			t.Fatal(err)
		}
		first := -1
		for v := range tree.NumValues() { // any that is no ball
			l, err := New(tree, Close(c.joints[n:]...), []int{v}, Options{})
			if err != nil {
				continue
			}
			first = v
			m, err := l.Mobility(l.Zero())
			if err != nil || m.Values != c.values || m.Kutzbach != c.kutzbach || m.Freedoms != c.freedoms_ || m.AtPose != c.freedoms_ {
				t.Errorf("%s: %+v, %v; want %d values, count %d, %d freedoms", c.name, m, err, c.values, c.kutzbach, c.freedoms_)
			}
			if m.Redundant != 6*c.closing-m.Rank || m.Idle != m.Freedoms-1 {
				t.Errorf("%s: %+v", c.name, m)
			}
			break
		}
		if first < 0 {
			t.Errorf("%s: nothing drives it", c.name)
		}
	}
}

// A parallelogram that lies flat has two ways to go on: two freedoms there, one
// about it. The four-bar that is merely at its rocker's limit has one.
func TestChangePointIsTold(t *testing.T) {
	flat := bars(FourBar{50, 90, 50, 90}, deg(180), Open)
	l := mechanism(t, 3, flat, 1, []int{0}, Options{})
	m, err := l.Mobility(l.Zero())
	if err != nil || m.Freedoms != 1 || m.AtPose != 2 {
		t.Errorf("flat parallelogram: %+v, %v", m, err)
	}
	limit := bars(norton, deg(24.1468479965024), Open)
	l = mechanism(t, 3, limit, 1, []int{2}, Options{})
	m, err = l.Mobility(l.Zero())
	if err != nil || m.Freedoms != 1 || m.AtPose != 1 {
		t.Errorf("rocker at its limit: %+v, %v", m, err)
	}
}

func TestNoLinkage(t *testing.T) {
	joints := bars(norton, deg(40), Open)
	tree, err := kinematics.NewTree(4, joints[:3])
	if err != nil {
		t.Fatal(err)
	}
	with := func(f func(j *kinematics.Joint)) []Closing {
		j := joints[3]
		f(&j)
		return Close(j)
	}
	bad := kinematics.Frame{}
	for _, c := range []struct {
		closing []Closing
		drivers []int
		o       Options
		want    string
	}{
		{nil, nil, Options{}, "no joint closes a loop: a tree needs no solving"},
		{with(func(j *kinematics.Joint) { j.Parent = 9 }), nil, Options{}, `joint "pin": it joins part 9, but the model has parts 0 to 3`},
		{with(func(j *kinematics.Joint) { j.Parent = 2 }), nil, Options{}, `joint "pin": it joins part 2 to itself: choose another part`},
		{with(func(j *kinematics.Joint) { j.Parent, j.Child = kinematics.World, 3 }), nil, Options{}, `joint "pin": no joint lets its parts move against each other, so it closes no loop: leave it out`},
		{with(func(j *kinematics.Joint) { j.Kind = "elastic" }), nil, Options{}, `joint "pin": it cannot close a loop: joint "pin": kind "elastic" is not known`},
		{[]Closing{{Joint: joints[3], OnChild: &bad}}, nil, Options{}, `joint "pin": its frame on the child part is wrong: `},
		{with(func(j *kinematics.Joint) { j.Kind = kinematics.Fixed }), nil, Options{}, `the loop of "pin" is rigid: `},
		{with(func(*kinematics.Joint) {}), []int{}, Options{}, "nothing drives: choose at least one driver"},
		{with(func(*kinematics.Joint) {}), []int{4}, Options{}, "driver 4: the linkage has values 0 to 3"},
		{with(func(*kinematics.Joint) {}), []int{-1}, Options{}, "driver -1: the linkage has values 0 to 3"},
		{with(func(*kinematics.Joint) {}), []int{0, 0}, Options{}, `joint "crank": it drives twice: name each driver once`},
		{with(func(*kinematics.Joint) {}), []int{0, 2}, Options{}, `joint "rocker": it is driver 2 of 2, but the loop has 1 freedoms: take drivers away`},
	} {
		_, err := New(tree, c.closing, c.drivers, c.o)
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("error %v\nwant  %s", err, c.want)
		}
	}

	// A rod that only slides in the plane cannot drive what turns about it; and a
	// joint outside the loop drives nothing.
	more := append(joints[:3:3], pairAt("flag", kinematics.Revolute, 2, 3, v3(9, 9, 9), v3(1, 0, 0)))
	if tree, err = kinematics.NewTree(4, more); err != nil {
		t.Fatal(err)
	}
	if _, err = New(tree, Close(joints[3]), []int{3}, Options{}); err == nil || err.Error() != `joint "flag": it is in no loop: it moves freely, choose a joint of the loop as driver` {
		t.Errorf("error %v", err)
	}
	held := append([]kinematics.Joint(nil), joints...)
	held = append(held[:3:3], pairAt("across", kinematics.Prismatic, 1, 3, v3(50, 50, 0), z),
		pairAt("pin", kinematics.Revolute, 3, 2, joints[3].Frame.Origin, z))
	if tree, err = kinematics.NewTree(4, held[:4]); err != nil {
		t.Fatal(err)
	}
	if _, err = New(tree, Close(held[4]), []int{3}, Options{}); err == nil || err.Error() != `joint "across": the loop holds it still, so it cannot drive: choose a joint that moves` {
		t.Errorf("error %v", err)
	}
	r := rssr(kinematics.Spherical)
	if tree, err = kinematics.NewTree(3, r[:3]); err != nil {
		t.Fatal(err)
	}
	if _, err = New(tree, Close(r[3]), []int{1}, Options{}); err == nil || err.Error() != `joint "ball a": a ball cannot drive: choose a joint that turns or slides about one axis` {
		t.Errorf("error %v", err)
	}
}
