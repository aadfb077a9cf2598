package mechanism

import (
	"math"
	"testing"

	s "pintle/assets/internal/solid"
)

const elbowJoint = 2

// The elbow's stops against stepping: free just within them, and just beyond
// them the forearm is inside the upper link.
func TestElbowIsFreeBetweenItsStops(t *testing.T) {
	m := TernArm()
	stops := m.Joints[elbowJoint].Stops
	if m.Joints[elbowJoint].Name != "elbow" || stops == nil {
		t.Fatalf("joint %d is %s, stops %v", elbowJoint, m.Joints[elbowJoint].Name, stops)
	}
	for _, c := range []struct {
		angle float64
		free  bool
	}{
		{stops.Lower - s.Deg(0.3), false},
		{stops.Lower + s.Deg(0.05), true},
		{s.Deg(-15), true},
		{s.Deg(20), true},
		{s.Deg(50), true},
		{s.Deg(80), true},
		{s.Deg(105), true},
		{stops.Upper - s.Deg(0.05), true},
		{stops.Upper + s.Deg(0.3), false},
	} {
		clashes := m.clashes(elbowJoint, c.angle, 4, 0.05)
		if free := len(clashes) == 0; free != c.free {
			t.Errorf("at %.2f deg free is %v, want %v: %v", c.angle*180/math.Pi, free, c.free, clashes)
		}
		for _, x := range clashes {
			if !(x.of == forearm && x.in == upperLink || x.of == upperLink && x.in == forearm) {
				t.Errorf("at %.2f deg %s meets %s", c.angle*180/math.Pi, x.of, x.in)
			}
		}
	}
}

// The stated contact points lie on the upper link's surface, and turned back by
// the stop's angle on the forearm's.
func TestStopPointsLieOnBothParts(t *testing.T) {
	m := TernArm()
	j := m.Joints[elbowJoint]
	link := newBody(upperLink, *m.part(upperLink), s.World())
	arm := newBody(forearm, *m.part(forearm), s.World())
	for _, c := range []struct {
		angle float64
		at    s.Vec
	}{{j.Stops.Lower, j.Stops.LowerPoint}, {j.Stops.Upper, j.Stops.UpperPoint}} {
		if d := link.depth(c.at, 1); d > 1e-9 {
			t.Errorf("stop at %.2f deg: its point is %g mm off the upper link", c.angle*180/math.Pi, d)
		}
		back := turned(j.Origin, j.Axis, -c.angle).At(c.at)
		if d := arm.depth(back, 1); d > 1e-9 {
			t.Errorf("stop at %.2f deg: its point is %g mm off the forearm", c.angle*180/math.Pi, d)
		}
	}
}

// The rim of the elbow's hub has just the harmonics that are stated.
func TestHubIsOutOfRoundAsStated(t *testing.T) {
	m := TernArm()
	h := m.Joints[elbowJoint].Housing
	side := h.Axis.Cross(h.Zero)
	rim, found := h.HalfWidth-1.5, 0
	for _, v := range m.part(h.Part).Vertices {
		d := v.Sub(h.Origin)
		x := d.Dot(h.Axis)
		r := distanceFrom(v, h.Origin, h.Axis)
		if math.Abs(math.Abs(x)-rim) > 1e-9 || math.Abs(r-h.Radius) > 1 {
			continue
		}
		want := h.Radius
		a := math.Atan2(d.Dot(side), d.Dot(h.Zero))
		for _, k := range h.Harmonics {
			want += k.Amplitude * math.Cos(float64(k.Order)*(a-k.Phase-k.Twist*x/h.HalfWidth))
		}
		if math.Abs(r-want) > 1e-9 {
			t.Errorf("radius %g at %.2f deg, want %g", r, a*180/math.Pi, want)
		}
		found++
	}
	if want := 2 * len(unevenAngles()); found != want {
		t.Errorf("found %d vertices of the rims, want %d", found, want)
	}
}

// Two opposite vertices, the middle of a rim and the axis give three different
// answers for the hub's centre, all far above any tolerance.
func TestHubsThreeCentresDiffer(t *testing.T) {
	hs := hubHarmonics()
	at := func(a, x float64) s.P2 {
		sin, cos := math.Sincos(a)
		r := hubRadius + out(hs, a, x)
		return s.P2{X: r * cos, Y: r * sin}
	}
	x := (hubHalf - 1.5) / hubHalf
	var loop s.P2
	for _, a := range unevenAngles() {
		p := at(a, x)
		loop.X += p.X / float64(len(unevenAngles()))
		loop.Y += p.Y / float64(len(unevenAngles()))
	}
	least, most := math.Inf(1), 0.0
	for k := range 24 {
		a := s.Deg(7.5 * float64(k))
		p, q := at(a, x), at(a+math.Pi, x)
		mid := math.Hypot(p.X+q.X, p.Y+q.Y) / 2
		least, most = min(least, mid), max(most, mid)
		if off := math.Hypot((p.X+q.X)/2-loop.X, (p.Y+q.Y)/2-loop.Y); off < 0.1 {
			t.Errorf("the middle of two opposite vertices at %.1f deg is only %g mm from the loop's", 7.5*float64(k), off)
		}
	}
	if most < 0.25 {
		t.Errorf("middles of opposite vertices are %g to %g mm off the axis", least, most)
	}
	if d := math.Hypot(loop.X, loop.Y); d < 0.1 {
		t.Errorf("the loop's middle is only %g mm off the axis", d)
	}
}

// The upper link's clevis is askew to the shoulder and to the link.
func TestElbowIsSkewed(t *testing.T) {
	m := TernArm()
	shoulder, elbow := m.Joints[1], m.Joints[elbowJoint]
	if a := math.Acos(shoulder.Axis.Dot(elbow.Axis)) * 180 / math.Pi; a < 10 || a > 25 {
		t.Errorf("elbow and shoulder are %.1f deg apart", a)
	}
	link := elbow.Origin.Sub(shoulder.Origin).Unit()
	if a := math.Asin(link.Dot(elbow.Axis)) * 180 / math.Pi; math.Abs(a) < 3 {
		t.Errorf("elbow is square to the link within %.1f deg", a)
	}
}
