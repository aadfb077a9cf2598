package doc

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pintle/app/job"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// MostSamples is how many samples of a clearance curve do for any mechanism that
// is not made to need more.
const MostSamples = 4000

// clear fills in the clearance curve.
func (m *Motion) clear(ctx context.Context, scene *contact.Scene, in MotionInput, progress job.Progress) error {
	m.CurveAsked = in.Error
	if in.Error == 0 {
		m.CurveAsked = contact.DefaultCurveError * sizeOf(in.Parts, slices.Concat(in.Moving, in.Still))
	}
	c, err := scene.Curve(ctx, m.Shown(), contact.CurveOptions{Error: m.CurveAsked, Most: in.Samples, Progress: progress})
	if err != nil {
		return err
	}
	m.Curve = c
	return nil
}

// CurveNote says that the curve is less exact than it was to be, "" where it is
// not.
func (m *Motion) CurveNote() string {
	if m.Curve == nil || m.Curve.Error <= m.CurveAsked*(1+1e-9) {
		return ""
	}
	return fmt.Sprintf("the clearance is known to %s only, not to %s: it changes too often for %d samples",
		digits(m.Curve.Error, 2), digits(m.CurveAsked, 2), len(m.Curve.Samples))
}

// Narrowest returns the least of the clearance's minima, the contacts at the
// ends of the free range left out. ok is false where there is none.
func (m *Motion) Narrowest() (least contact.Sample, ok bool) {
	if m.Curve == nil {
		return least, false
	}
	for _, x := range m.Curve.Minima {
		if !m.atContact(x.Value) && !math.IsInf(x.Distance, 1) && (!ok || x.Distance < least.Distance) {
			least, ok = x, true
		}
	}
	return least, ok
}

// atContact reports whether a value is one of the first contacts.
func (m *Motion) atContact(v float64) bool {
	for _, e := range [2]*contact.Event{m.Free.Lower, m.Free.Upper} {
		if e != nil && math.Abs(v-e.Value) <= 1e-9*max(1, math.Abs(e.Value)) {
			return true
		}
	}
	return false
}

// CurveAngles returns evenly spaced values over the range, both ends and 0
// among them where the range holds it, n or one more in all.
func CurveAngles(r kinematics.Range, n int) []float64 {
	if !(r.Span() > 0) {
		return []float64{r.Lower}
	}
	n = max(n, 2)
	out := make([]float64, 0, n+1)
	for i := range n {
		t := float64(i) / float64(n-1)
		out = append(out, r.Lower*(1-t)+r.Upper*t)
	}
	if r.Contains(0) && !slices.Contains(out, 0) {
		i, _ := slices.BinarySearch(out, 0)
		out = slices.Insert(out, i, 0)
	}
	return out
}
