package desk

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
	"pintle/viewport"
)

// edgeOn is how much of the line of sight must run along the hinge for a drag
// to say clearly how far to turn.
const edgeOn = 0.15

// Grab begins a drag that moves the selected joint by the part under the
// pointer, in its chosen freedom: the point that was grabbed stays under the
// pointer. It returns nil where the part is not moved by that joint, or is seen
// edge on. The function that it returns takes the ray of sight through the
// pointer.
func (d *Desk) Grab(h viewport.Hit) func(origin, dir r3.Vec, done bool) {
	if d.Reviewing() {
		return d.grabFound(h)
	}
	j, _, ok := d.Joint()
	if !ok || j.Kind.Freedoms() < 1 || d.step < StepMotion && d.mode != viewport.PickPart || !h.OK() {
		return nil
	}
	moving, _ := d.session.MovingParts(j)
	if !slices.Contains(moving, h.Part) {
		return nil
	}
	k := kinematics.Joint{Kind: j.Kind, Frame: j.Frame, Pitch: j.Pitch}
	w := k.Twists(d.Values(j.Name)...)[d.Freedom()]
	if p := d.session.Doc.PartIndex(j.Parent); p >= 0 {
		w = d.Scene().Parts[p].MotionOrIdentity().Twist(w)
	}
	start := d.Value(j.Name)
	moved := func(by float64) { d.SetValue(d.held(start + by)) }
	rate := r3.Norm(w.Angular)
	switch {
	case rate > 0:
		axis := kinematics.Axis{Point: r3.Scale(1/(rate*rate), r3.Cross(w.Angular, w.Linear)), Dir: r3.Scale(1/rate, w.Angular)}
		return follow(axis, h.Point, func(turn float64) { moved(turn / rate) })
	case w.Linear != r3.Vec{}:
		return drawAlong(kinematics.Axis{Point: h.Point, Dir: r3.Unit(w.Linear)}, moved)
	}
	return nil
}

// drawAlong turns a drag from a point into the way along a line through it: to
// the point of the line that is nearest to the ray of sight.
func drawAlong(line kinematics.Axis, moved func(float64)) func(origin, dir r3.Vec, done bool) {
	return func(origin, dir r3.Vec, _ bool) {
		sight, err := kinematics.NewAxis(origin, dir)
		if err != nil || r3.Norm(r3.Cross(line.Dir, sight.Dir)) < edgeOn { // seen end on
			return
		}
		moved(line.Along(kinematics.CommonNormal(line, sight, 0).FootA))
	}
}

// grabFound begins a drag that swings the proposal looked at.
func (d *Desk) grabFound(h viewport.Hit) func(origin, dir r3.Vec, done bool) {
	c, ok := d.FoundChoice()
	if !ok || !c.Kind.Turns() || !h.OK() || !slices.Contains(d.review.found.List[d.review.at].Moves, h.Part) {
		return nil
	}
	if d.OnGrab != nil {
		d.OnGrab()
	}
	start := d.FoundValue()
	return follow(c.Frame.Axis(), h.Point, func(turn float64) { d.SwingFound(start + turn) })
}

// follow turns a drag from a point about an axis into the turn since then.
func follow(axis kinematics.Axis, from r3.Vec, turned func(float64)) func(origin, dir r3.Vec, done bool) {
	last := 0.0
	return func(origin, dir r3.Vec, _ bool) {
		to, ok := onPlane(origin, dir, axis.Dir, from)
		if !ok {
			return
		}
		turn := kinematics.SignedAngle(axis.Offset(from), axis.Offset(to), axis.Dir)
		// Follow the pointer through half a turn and beyond.
		turn = last + math.Remainder(turn-last, 2*math.Pi)
		last = turn
		turned(turn)
	}
}

// held keeps a value of the selected hinge within its limits, or else within
// its free range; in a loop within both and what holds the loop's other joints.
func (d *Desk) held(v float64) float64 {
	if _, _, ok := d.Joint(); !ok {
		return v
	}
	if r, ok := d.LoopReach(); ok {
		return r.Range.Clamp(v)
	}
	if r, ok := d.Limit(d.Freedom()); ok {
		return r.Clamp(v)
	}
	if m, _ := d.Standing(); m != nil {
		return m.FreeRange().Clamp(v)
	}
	return v
}

// onPlane returns where a ray meets the plane through a point.
func onPlane(origin, dir, normal, through r3.Vec) (r3.Vec, bool) {
	along := r3.Dot(dir, normal)
	if math.Abs(along) < edgeOn*r3.Norm(dir) {
		return r3.Vec{}, false
	}
	t := r3.Dot(r3.Sub(through, origin), normal) / along
	return r3.Add(origin, r3.Scale(t, dir)), true
}
