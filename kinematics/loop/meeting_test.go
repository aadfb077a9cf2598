package loop

import (
	"context"
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// box is a block between two corners, turned about x through the origin by the
// angle.
func box(t failer, lo, hi r3.Vec, turn float64) *mesh.Mesh {
	t.Helper()
	x := kinematics.Rotation(kinematics.Axis{Dir: v3(1, 0, 0)}, turn)
	b := mesh.NewBuilder()
	var at [8]int32
	for i := range 8 {
		p := lo
		if i&1 != 0 {
			p.X = hi.X
		}
		if i&2 != 0 {
			p.Y = hi.Y
		}
		if i&4 != 0 {
			p.Z = hi.Z
		}
		at[i] = b.Vertex(x.Apply(p))
	}
	for _, f := range [6][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		b.Face(at[f[0]], at[f[1]], at[f[2]], at[f[3]])
	}
	m, _, err := b.Build(mesh.Options{})
	if err != nil {
		t.Fatalf("box: %v", err)
	}
	return m
}

// A crank's square end turns toward a wall: its corner at radius r comes to the
// height h of the wall at asin(h/r) less where it stands. Closed form.
func TestMeetOfACrankAndAWall(t *testing.T) {
	l := mechanism(t, 3, bars(norton, deg(40), Open), 1, []int{0}, Options{})
	// The block on the crank: corner at radius 50, 0 degrees off the x axis, in the
	// plane z = 0.5..1; parts 3 stands still.
	tree, err := kinematics.NewTree(4, []kinematics.Joint{l.Joint(0), l.Joint(1), l.Joint(2)})
	if err != nil {
		t.Fatal(err)
	}
	if l, err = New(tree, Close(l.Joint(3)), []int{0}, Options{}); err != nil {
		t.Fatal(err)
	}
	end := box(t, v3(40, -2, 0.5), v3(50, 0, 1), 0)
	wall := box(t, v3(0, 30, 0), v3(60, 35, 2), 0)
	bodies := []Body{{Part: 0, Mesh: end}, {Part: 3, Mesh: wall}}
	m, _, touching, err := l.Meet(background(t), l.Zero(), 0, 1, bodies, MeetingOptions{Within: 1e-7})
	if err != nil || m == nil || len(touching) != 0 {
		t.Fatal(m, touching, err)
	}
	near(t, "meeting", m.Drive, math.Asin(30.0/50), 1e-8)
	near(t, "point", r3.Norm(r3.Sub(m.Point, v3(40, 30, m.Point.Z))), 0, 1e-6)
	angle, length := openings(l, m.Values)
	near(t, "closed there", angle+length, 0, 1e-10)

	// The other way there is nothing until it comes round; a turn and a bit.
	m, _, _, err = l.Meet(background(t), l.Zero(), 0, -1, bodies, MeetingOptions{Within: 1e-7})
	if err != nil || m == nil {
		t.Fatal(m, err)
	}
	// Its inner face, 40 from the pin, comes down on the wall's back: the face's
	// near corner, at (40, -2), to the height 35.
	r := math.Hypot(40, 2)
	near(t, "meeting from above", m.Drive, math.Asin(35/r)+math.Asin(2/r)-2*math.Pi, 1e-7)

	far := []Body{{Part: 0, Mesh: end}, {Part: 3, Mesh: box(t, v3(0, 80, 0), v3(60, 85, 2), 0)}}
	m, stop, _, err := l.Meet(background(t), l.Zero(), 0, 1, far, MeetingOptions{})
	if err != nil || m != nil || stop.Reason != FullTurn {
		t.Errorf("met %+v, %+v, %v", m, stop, err)
	}
}

// A slider that stands still as modelled, at its dead point, and sets off
// towards a plate right before it: r^2 + x^2 - 2 r x cos t = l^2, closed form.
func TestMeetFromADeadPoint(t *testing.T) {
	const r, l, ahead = 10.0, 30.0, 0.02
	link := mechanism(t, 4, []kinematics.Joint{
		pairAt("crank", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), v3(0, 0, 1)),
		pairAt("pin", kinematics.Revolute, 0, 1, v3(r, 0, 0), v3(0, 0, 1)),
		pairAt("slide", kinematics.Prismatic, kinematics.World, 2, v3(r+l, 0, 0), v3(1, 0, 0)),
		pairAt("wrist", kinematics.Revolute, 1, 2, v3(r+l, 0, 0), v3(0, 0, 1)),
	}, 1, []int{0}, Options{})
	bodies := []Body{
		{Part: 2, Mesh: box(t, v3(38, -1, -1), v3(42, 1, 1), 0)},
		{Part: 3, Mesh: box(t, v3(37.97, -5, -5), v3(38-ahead, 5, 5), 0)},
	}
	x := r + l - ahead
	want := math.Acos((r*r + x*x - l*l) / (2 * r * x))
	for _, sense := range []float64{1, -1} {
		m, _, touching, err := link.Meet(background(t), link.Zero(), 0, sense, bodies, MeetingOptions{Within: 1e-9})
		if err != nil || m == nil || len(touching) != 0 {
			t.Fatal(m, touching, err)
		}
		near(t, "meeting", m.Drive, sense*want, 1e-7)
	}
}

// A thin blade on the coupler against a thin blade that stands, both 0.001
// thick: never leapt over, and at the place that bisection of distances finds.
func TestMeetLeapsOverNothing(t *testing.T) {
	joints := bars(norton, deg(40), Open)
	tree, err := kinematics.NewTree(4, joints[:3])
	if err != nil {
		t.Fatal(err)
	}
	l, err := New(tree, Close(joints[3]), []int{0}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	a := joints[1].Frame.Origin
	b := joints[3].Frame.Origin
	mid := r3.Scale(0.5, r3.Add(a, b))
	blade := box(t, r3.Add(mid, v3(0, 0, -1)), r3.Add(mid, v3(0.001, 30, 1)), 0)
	rapid.Check(t, func(t *rapid.T) {
		// A thin wall through where the blade's top will be at some crank angle.
		turn := rapid.Float64Range(0.3, 5.5).Draw(t, "turn")
		top := r3.Add(mid, v3(0, 29, 0))
		v := solve(t, l, l.Zero(), turn)
		at := tree.FK(v[:3])[1].Apply(top)
		wall := box(t, r3.Add(at, v3(-0.0005, -3, -2)), r3.Add(at, v3(0.0005, 3, 2)), 0)
		bodies := []Body{{Part: 1, Mesh: blade}, {Part: 3, Mesh: wall}}
		m, _, touching, err := l.Meet(context.Background(), l.Zero(), 0, 1, bodies, MeetingOptions{Within: 1e-6})
		if err != nil {
			t.Fatal(err)
		}
		if len(touching) > 0 {
			return
		}
		if m == nil || m.Drive > turn+1e-6 {
			t.Fatalf("the wall at %v is leapt over: %+v", turn, m)
		}
		// Nothing is met before, by small steps.
		for s := 0.0; s < m.Drive-1e-3; s += 0.02 {
			x := tree.FK(solve(t, l, l.Zero(), s)[:3])
			if g, ok := mesh.Distance(blade.BVH(), wall.BVH(), mesh.Rigid(x[1].Inverse()), 1); ok && g.Distance == 0 {
				t.Fatalf("they meet at %v, before %v", s, m.Drive)
			}
		}
	})
}

func TestBadMeetings(t *testing.T) {
	l := mechanism(t, 3, bars(norton, deg(40), Open), 1, []int{0}, Options{})
	b := box(t, v3(0, 0, 0), v3(1, 1, 1), 0)
	for want, call := range map[string]struct {
		bodies []Body
		o      MeetingOptions
	}{
		"body 0 is of part 7: the model has parts 0 to 2, and a body needs a mesh": {[]Body{{Part: 7, Mesh: b}}, MeetingOptions{}},
		"body 0 is of part 1: the model has parts 0 to 2, and a body needs a mesh": {[]Body{{Part: 1}}, MeetingOptions{}},
		"there is no body 3: give 0 to 1":                                          {[]Body{{0, b}, {1, b}}, MeetingOptions{Pairs: [][2]int{{0, 3}}}},
		"meeting within -1: give a positive distance":                              {[]Body{{0, b}, {1, b}}, MeetingOptions{Within: -1}},
	} {
		if _, _, _, err := l.Meet(background(t), l.Zero(), 0, 1, call.bodies, call.o); err == nil || err.Error() != want {
			t.Errorf("error %v, want %s", err, want)
		}
	}
	// Blocks that overlap as modelled are for others to judge.
	m, _, touching, err := l.Meet(background(t), l.Zero(), 0, 1, []Body{{0, b}, {1, b}}, MeetingOptions{})
	if err != nil || m != nil || len(touching) != 1 {
		t.Errorf("met %v, touching %v, %v", m, touching, err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, _, err := l.Meet(ctx, l.Zero(), 0, 1, []Body{{0, b}, {2, b}}, MeetingOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// A barrel of the drawbridge's size against its leaf.
func BenchmarkMeet(b *testing.B) {
	foot, head := bridgeEnds(deg(37))
	l := mechanism(b, 3, bridge(foot, head), 1, []int{0}, Options{})
	leaf := box(b, v3(-100, 20, -20), v3(100, 500, 0), deg(37))
	up := math.Atan2(head.Z-foot.Z, head.Y-foot.Y)
	turn := kinematics.Rotation(kinematics.Axis{Point: foot, Dir: v3(1, 0, 0)}, up)
	barrel := box(b, v3(-20, 0, -20), v3(20, 200, 20), 0)
	bld := mesh.NewBuilder()
	for i := range barrel.Vertices() {
		bld.Vertex(r3.Add(foot, turn.Turn(barrel.Vertices()[i])))
	}
	for i := range barrel.Triangles() {
		t := barrel.Triangles()[i]
		bld.Face(t[0], t[1], t[2])
	}
	moved, _, err := bld.Build(mesh.Options{})
	if err != nil {
		b.Fatal(err)
	}
	bodies := []Body{{0, leaf}, {1, moved}}
	b.ReportAllocs()
	for b.Loop() {
		if _, _, _, err := l.Meet(context.Background(), l.Zero(), 0, -1, bodies, MeetingOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
