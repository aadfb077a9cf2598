package doc

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/job"
	"pintle/kinematics"
	"pintle/kinematics/contact"
	"pintle/kinematics/region"
)

// Region is where a ball or universal joint can lean before what it moves meets
// another part. Part numbers in its events are those of Moving and Still.
type Region struct {
	Kind          kinematics.Kind
	Ball          *region.Ball      // of a ball joint
	Twist         region.Twist      // of a ball joint, without lean
	Universal     *region.Universal // of a universal joint
	Moving, Still []int
}

// regionOptions keep a region to what a few dozen turns tell.
func regionOptions() region.Options {
	return region.Options{Error: 2 * math.Pi / 180, First: 24, Most: 96}
}

// Region finds where a ball or universal joint can lean with everything below it,
// all other joints as modelled. It fails for other kinds, where everything moves
// and when ctx is done.
func (s *Session) Region(ctx context.Context, j Joint, progress job.Progress) (*Region, error) {
	if !j.Kind.Leans() {
		return nil, fmt.Errorf("joint %q is %s: only ball and universal joints lean", j.Name, j.Kind)
	}
	r := &Region{Kind: j.Kind}
	r.Moving, r.Still = s.MovingParts(j)
	if len(r.Still) == 0 {
		return nil, ErrNothingStill
	}
	in := region.Input{Moving: bodies(s.Parts, r.Moving), Still: bodies(s.Parts, r.Still), Frame: j.Frame}
	o := regionOptions()
	o.Progress = job.Stage(progress, 0, 0.95)
	var err error
	if j.Kind == kinematics.Universal {
		r.Universal, err = region.FindUniversal(ctx, in, o)
	} else if r.Ball, err = region.FindBall(ctx, in, o); err == nil {
		o.Progress = nil
		r.Twist, err = region.TwistAt(ctx, in, 0, 0, o)
	}
	if err != nil {
		return nil, fmt.Errorf("the region of joint %q: %w", j.Name, err)
	}
	tell(progress, 1, "Done")
	return r, nil
}

// SolidAngle returns the solid angle that the reach can point into, steradians.
func (r *Region) SolidAngle() float64 {
	if r.Ball != nil {
		return r.Ball.SolidAngle()
	}
	return r.Universal.SolidAngle()
}

// RegionRay is a point of a region's rim: how far it leans to one side, and what
// stops it there, nil for nothing.
type RegionRay struct {
	Azimuth, Lean float64 // see kinematics.Kind.Lean
	Event         *contact.Event
}

// Rim returns the region's rim in order round the reach.
func (r *Region) Rim() []RegionRay {
	var out []RegionRay
	if r.Ball != nil {
		for _, p := range r.Ball.Rim {
			out = append(out, RegionRay{Azimuth: p.Azimuth, Lean: p.Lean, Event: p.Event})
		}
		return out
	}
	at := func(about, side float64, e *contact.Event) {
		azimuth, lean := kinematics.Universal.Lean(about, side)
		out = append(out, RegionRay{Azimuth: azimuth, Lean: lean, Event: e})
	}
	for _, f := range r.Universal.Forks {
		at(f.About, f.Side.Lower, f.Lower)
	}
	for i := len(r.Universal.Forks) - 1; i >= 0; i-- {
		f := r.Universal.Forks[i]
		at(f.About, f.Side.Upper, f.Upper)
	}
	return out
}

// Narrowest returns the ray of the rim that leans least.
func (r *Region) Narrowest() RegionRay {
	rim := r.Rim()
	best := rim[0]
	for _, p := range rim[1:] {
		if p.Lean < best.Lean {
			best = p
		}
	}
	return best
}

// Direction returns where the reach of a joint with the frame points when it
// leans by polar to an azimuth, in model axes.
func Direction(f kinematics.Frame, azimuth, polar float64) r3.Vec {
	sa, ca := math.Sincos(azimuth)
	sp, cp := math.Sincos(polar)
	out := r3.Add(r3.Scale(ca, f.Side()), r3.Scale(sa, f.Hinge))
	return r3.Add(r3.Scale(cp, f.Reach), r3.Scale(sp, out))
}

// coneSamples is how many azimuths a suggested cone is given at.
const coneSamples = 36

// Suggest returns the joint with limits that keep a margin, radians, clear of
// every contact: of a ball joint a cone by azimuth and the twist without lean, of
// a universal joint the turn about the hinge and the narrowest turn about the
// side over it. ok is false where the region is too narrow for that.
func (r *Region) Suggest(j Joint, margin float64) (out Joint, ok bool) {
	if r.Ball != nil {
		cone, err := r.Ball.Cone(coneSamples)
		if err != nil {
			return j, false
		}
		for i, m := range cone.Max {
			cone.Max[i] = max(0, m-margin)
		}
		j.Cone = &cone
		twist, limited := inside(r.Twist.Lower, r.Twist.Upper, margin)
		if limited {
			j = j.WithLimit(2, &twist)
		}
		return j, true
	}
	about, limited := inside(r.Universal.Lower, r.Universal.Upper, margin)
	if !limited {
		about = kinematics.Unlimited()
	}
	side := kinematics.Unlimited()
	for _, f := range r.Universal.Forks {
		if about.Contains(f.About) {
			side, _ = side.Intersect(kinematics.Range{Lower: f.Side.Lower + margin, Upper: f.Side.Upper - margin})
		}
	}
	if !side.Contains(0) {
		return j, false
	}
	if limited {
		j = j.WithLimit(0, &about)
	}
	return j.WithLimit(1, &side), true
}

// inside returns the range a margin short of its contacts, which holds 0.
func inside(lower, upper *contact.Event, margin float64) (r kinematics.Range, limited bool) {
	r = kinematics.Unlimited()
	if lower != nil {
		r.Lower = min(0, lower.Value+margin)
	}
	if upper != nil {
		r.Upper = max(0, upper.Value-margin)
	}
	return r, lower != nil || upper != nil
}

// region tells of where the limits allow what a contact stops: the place that
// reaches furthest beyond.
func (w *findingWriter) region(r *Region) {
	k := kinematics.Joint{Kind: w.joint.Kind, Limits: w.joint.Limits, Cone: w.joint.Cone}
	if len(k.Limits) == 0 && k.Cone == nil {
		return
	}
	b := blocked{beyond: 1e-6}
	if r.Ball != nil {
		for _, ray := range r.Ball.Rim {
			s1, s2 := kinematics.SwingOf(ray.Azimuth, 1)
			most := reaches(func(polar float64) bool { return k.Within(polar*s1, polar*s2) })
			b.take(most, ray.Lean, ray.Event, "lean to azimuth "+AngleText(ray.Azimuth))
		}
	} else {
		b.universal(&k, r)
	}
	if b.event == nil {
		return
	}
	moving, still := w.session.Parts[r.Moving[b.event.Moving]].Name, w.session.Parts[r.Still[b.event.Still]].Name
	w.add(Finding{
		Severity: Stop, Kind: RangeBlocked, Value: b.most, Limit: b.free, Unit: Angle,
		Parts: []string{moving, still}, Points: []r3.Vec{b.event.Point},
		Text: fmt.Sprintf("the %s by %s that the limits allow cannot be reached: %s meets %s at %s; bring the limits in or cut the parts free",
			b.what, AngleText(b.most), moving, still, AngleText(b.free)),
	})
}

// blocked is where limits reach furthest beyond a contact.
type blocked struct {
	event              *contact.Event // nil: nowhere
	most, free, beyond float64
	what               string
}

// take holds what limits allow against what is free, without signs.
func (b *blocked) take(most, free float64, e *contact.Event, what string) {
	if e != nil && most-free > b.beyond {
		*b = blocked{event: e, most: most, free: free, beyond: most - free, what: what}
	}
}

// universal looks at the turn about the hinge, and at that about the side where
// the first may stand.
func (b *blocked) universal(k *kinematics.Joint, r *Region) {
	u := r.Universal
	for _, end := range []struct {
		sign  float64
		event *contact.Event
	}{{-1, u.Lower}, {1, u.Upper}} {
		if end.event != nil {
			most := reaches(func(v float64) bool { return k.Within(end.sign * v) })
			b.take(most, end.sign*end.event.Value, end.event, "turn about the hinge")
		}
	}
	for _, f := range u.Forks {
		what := "turn about the side, at " + AngleText(f.About) + " about the hinge,"
		up := reaches(func(v float64) bool { return k.Within(f.About, v) })
		down := reaches(func(v float64) bool { return k.Within(f.About, -v) })
		b.take(up, f.Side.Upper, f.Upper, what)
		b.take(down, -f.Side.Lower, f.Lower, what)
	}
}

// reaches returns how far, up to half a turn, within stays true from 0 on.
func reaches(within func(float64) bool) float64 {
	const steps = 360 // half a degree
	for i := range steps + 1 {
		out := math.Pi * float64(i) / steps
		if within(out) {
			continue
		}
		in := math.Pi * float64(i-1) / steps
		if i == 0 {
			return 0
		}
		for range 40 {
			if mid := (in + out) / 2; within(mid) {
				in = mid
			} else {
				out = mid
			}
		}
		return in
	}
	return math.Pi
}

// RegionFindings returns what is worth acting on about a joint whose region is
// known.
func (s *Session) RegionFindings(j Joint, r *Region) []Finding {
	w := findingWriter{session: s, joint: j}
	w.region(r)
	return w.list
}
