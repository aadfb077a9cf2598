package doc

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/job"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// What makes a datum worth a second look (common practice, no published
// source).
const (
	minArc       = 90 * math.Pi / 180   // of a housing's turn
	maxSigmaAxis = 0.25 * math.Pi / 180 // 1-sigma of an axis direction
	maxSigmaRel  = 0.02                 // 1-sigma of an axis' place, relative to the radius
	maxFormRel   = 0.02                 // form error relative to the radius
	offAngle     = 0.05 * math.Pi / 180 // hinge against its housing's axis
	offRel       = 1e-3                 // the same, relative to the housing's radius or size
	runoutRel    = 1e-4                 // runout below this share of the radius is rounding
	sureArc      = 270 * math.Pi / 180  // from which a housing's own axis is worth moving a hinge to
)

// Findings returns what is worth acting on about a joint. m is its motion, or
// nil where it was not computed.
func (s *Session) Findings(j Joint, m *Motion) []Finding {
	w := findingWriter{session: s, joint: j}
	w.pick()
	w.datum()
	w.offHousing()
	w.loop(m)
	if m != nil {
		for _, r := range m.Runout {
			w.runout(r)
		}
		w.rest(m)
		w.limits(m)
	}
	w.coupled()
	if !j.Accepted {
		w.add(Finding{Severity: Note, Kind: NotAccepted, Text: "nobody has accepted this joint yet", Limit: math.NaN()})
	}
	return w.list
}

type findingWriter struct {
	session *Session
	joint   Joint
	list    []Finding
}

// add takes a finding about the joint, with the points that exist.
func (w *findingWriter) add(f Finding) {
	f.Joint = w.joint.Name
	f.Points = slices.DeleteFunc(f.Points, func(p r3.Vec) bool { return !kinematics.Finite(p) })
	w.list = append(w.list, f)
}

// len returns a length with its unit.
func (w *findingWriter) len(v float64) string { return LengthText(v, w.session.Model.Unit) }

// LengthText returns a length to four significant digits with its unit.
func LengthText(v float64, unit mesh.Unit) string {
	return strings.TrimSpace(digits(v, 4) + " " + string(unit))
}

// AngleText returns an angle in degrees to the hundredth, or to two
// significant digits where it is smaller than a tenth.
func AngleText(rad float64) string {
	deg := kinematics.Degrees(rad)
	if a := math.Abs(deg); a > 0 && a < 0.1 {
		return digits(deg, 2) + "°"
	}
	return strconv.FormatFloat(deg, 'f', 2, 64) + "°"
}

// digits returns v to n significant digits, without an exponent where that
// stays readable.
func digits(v float64, n int) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	if e := math.Floor(math.Log10(math.Abs(v))); e >= -5 && e < 9 {
		return strconv.FormatFloat(v, 'f', max(0, n-1-int(e)), 64)
	}
	return strconv.FormatFloat(v, 'g', n, 64)
}

func (w *findingWriter) pick() {
	for _, p := range w.joint.Picks {
		if _, err := w.session.checkPick(p); err != nil {
			w.add(Finding{Severity: Check, Kind: PickLost, Text: err.Error(), Parts: []string{p.Source}, Limit: math.NaN()})
		}
	}
}

// datum tells how well the housing determines the hinge.
func (w *findingWriter) datum() {
	d := w.joint.Datum
	at := []r3.Vec{d.Origin}
	switch d.Kind {
	case fit.Circle, fit.Cylinder, fit.Cone, fit.Torus:
		if d.Arc < minArc {
			w.add(Finding{
				Severity: Check, Kind: ShortArc, Value: d.Arc, Limit: minArc, Unit: Angle, Points: at,
				Text: fmt.Sprintf("the housing covers only %s of a turn: its axis is known to %s and %s; pick more of it",
					AngleText(d.Arc), AngleText(d.SigmaAxis), w.len(d.SigmaOrigin)),
			})
		}
	}
	size := d.Radius
	if d.Kind == fit.Cone {
		size = math.Tan(d.HalfAngle) * max(math.Abs(d.Extent[0]), math.Abs(d.Extent[1]))
	}
	if d.SigmaAxis > maxSigmaAxis {
		w.add(Finding{
			Severity: Check, Kind: AxisUnsure, Value: d.SigmaAxis, Limit: maxSigmaAxis, Unit: Angle, Points: at,
			Text: fmt.Sprintf("the direction of the axis is known to %s only (1 sigma): pick a longer housing or two loops further apart", AngleText(d.SigmaAxis)),
		})
	}
	if size > 0 && d.SigmaOrigin > maxSigmaRel*size {
		w.add(Finding{
			Severity: Check, Kind: AxisUnsure, Value: d.SigmaOrigin, Limit: maxSigmaRel * size, Unit: Length, Points: at,
			Text: fmt.Sprintf("the place of the axis is known to %s only (1 sigma): pick more of the housing", w.len(d.SigmaOrigin)),
		})
	}
	if limit := max(2*d.Sagitta, maxFormRel*size); size > 0 && d.FormError > limit {
		w.add(Finding{
			Severity: Check, Kind: DatumRough, Value: d.FormError, Limit: limit, Unit: Length, Points: at,
			Text: fmt.Sprintf("the housing departs from a %s by %s, more than its facets (%s) explain: compare the centres that its loops give",
				d.Kind, w.len(d.FormError), w.len(d.Sagitta)),
		})
	}
}

// offHousing tells of a hinge that does not lie on its datum's axis.
func (w *findingWriter) offHousing() {
	axis, ok := w.joint.DatumAxis()
	if !ok || w.joint.Kind == kinematics.Fixed {
		return
	}
	d := w.joint.Datum
	off := kinematics.AxisErrorOf(w.joint.Frame.Axis(), axis)
	limit := offRel * max(d.Radius, d.Extent[1]-d.Extent[0])
	if off.Angle <= offAngle && off.Offset <= limit {
		return
	}
	f := Finding{Severity: Check, Kind: OffHousing, Points: []r3.Vec{axis.Point}}
	if off.Angle > offAngle {
		f.Value, f.Limit, f.Unit = off.Angle, offAngle, Angle
	} else {
		f.Value, f.Limit, f.Unit = off.Offset, limit, Length
	}
	f.Text = fmt.Sprintf("the hinge is %s and %s off its housing's axis: set roll back to the datum, or accept that the housing slides",
		AngleText(off.Angle), w.len(off.Offset))
	w.add(f)
}

// runout tells of a housing that wobbles by more than its facets explain, with
// the correction that brings the hinge onto the housing's own axis.
func (w *findingWriter) runout(r PartRunout) {
	if i := worstRadial(r); i >= 0 {
		s := r.Surfaces[i]
		w.add(Finding{
			Severity: Check, Kind: RadialRunout, Value: s.Circular, Limit: runoutLimit(s), Unit: Length,
			Parts: []string{r.Part}, Points: []r3.Vec{s.Own.Point},
			Text: fmt.Sprintf("the housing on %s runs out by %s (its facets alone hide %s)%s",
				r.Part, w.len(s.Circular), w.len(s.Sagitta), w.correction(r.PartHousing, i, s)),
		})
	}
	worst := -1
	for i, s := range r.Surfaces {
		if s.Direction == kinematics.Axial && !math.IsNaN(s.Circular) && (worst < 0 || s.Circular > r.Surfaces[worst].Circular) {
			worst = i
		}
	}
	if worst >= 0 {
		s := r.Surfaces[worst]
		limit := runoutRel * s.Stations[s.Worst].Level
		if !math.IsNaN(r.Sagitta) {
			limit = max(limit, r.Sagitta)
		}
		if s.Circular > limit {
			w.add(Finding{
				Severity: Check, Kind: AxialRunout, Value: s.Circular, Limit: limit, Unit: Length,
				Parts: []string{r.Part}, Points: []r3.Vec{s.Own.Point},
				Text: fmt.Sprintf("an end face on %s runs out by %s along the hinge: it leans by %s",
					r.Part, w.len(s.Circular), AngleText(s.Tilt)),
			})
		}
	}
}

// correction says how to bring the hinge onto the surface's own axis: fitted
// to its vertices where that succeeds, else as its stations show it.
func (w *findingWriter) correction(h PartHousing, patch int, s kinematics.SurfaceRunout) string {
	c, own, ok := w.session.Correction(w.joint, h, patch)
	if !ok {
		return ""
	}
	if round := s.Stations[s.Worst].Roundness; round >= s.Circular/2 {
		return fmt.Sprintf(": it is out of round by %s, which no move of the hinge mends", w.len(round))
	}
	off := kinematics.AxisErrorOf(w.joint.Frame.Axis(), own)
	if off.Angle <= offAngle && off.Offset <= runoutRel*s.Stations[s.Worst].Radius {
		return ": it is not round, no move of the hinge mends that"
	}
	if s.Arc < sureArc {
		// A lobe on part of a turn looks like a shifted centre.
		return fmt.Sprintf(": its own axis, as far as its arc of %s tells, lies %s and %s off the hinge",
			AngleText(s.Arc), w.len(off.Offset), AngleText(off.Angle))
	}
	return fmt.Sprintf(": its own axis lies %s and %s off the hinge; move the hinge by %s%s",
		w.len(off.Offset), AngleText(off.Angle), w.vec(c.Move), w.tilt(c.Tilt))
}

func (w *findingWriter) tilt(v r3.Vec) string {
	angle := r3.Norm(v)
	if angle <= offAngle {
		return ""
	}
	d := r3.Scale(1/angle, v)
	return fmt.Sprintf(" and tilt it by %s about (%s, %s, %s)", AngleText(angle), digits(d.X, 4), digits(d.Y, 4), digits(d.Z, 4))
}

// vec returns a vector in model units.
func (w *findingWriter) vec(v r3.Vec) string {
	return strings.TrimSpace(fmt.Sprintf("(%s, %s, %s) %s", digits(v.X, 4), digits(v.Y, 4), digits(v.Z, 4), w.session.Model.Unit))
}

// Correction returns what brings a joint's hinge onto the own axis of one patch
// of a housing, and that axis: of the cylinder fitted to the patch's vertices.
// It is false where no cylinder fits.
func (s *Session) Correction(j Joint, h PartHousing, patch int) (kinematics.Correction, kinematics.Axis, bool) {
	list := pickedVertices(h.Mesh, Elements{Triangles: h.Patches[patch]})
	points := make([]r3.Vec, len(list))
	for i, v := range list {
		points[i] = h.Mesh.Vertices()[v]
	}
	d, err := fit.FitCylinder(points, fit.Options{})
	if err != nil {
		return kinematics.Correction{}, kinematics.Axis{}, false
	}
	own, ok := datumAxis(d)
	return kinematics.CorrectionOf(j.Frame, own), own, ok
}

// rest tells of parts that overlap as modelled: the deepest place for each
// pair of parts.
func (w *findingWriter) rest(m *Motion) {
	type pair struct{ moving, still int }
	var order []pair
	deepest := map[pair]contact.Rest{}
	for _, r := range m.Free.Rest {
		if r.Kind != contact.Overlap {
			continue
		}
		p := pair{r.Moving, r.Still}
		old, seen := deepest[p]
		if !seen {
			order = append(order, p)
		}
		if !seen || r.Depth > old.Depth {
			deepest[p] = r
		}
	}
	for _, p := range order {
		r := deepest[p]
		moving, still := w.names(m, r.Moving, r.Still)
		w.add(Finding{
			Severity: Check, Kind: RestOverlap, Value: r.Depth, Limit: math.NaN(), Unit: Length,
			Parts: []string{moving, still}, Points: []r3.Vec{r.Point},
			Text: fmt.Sprintf("as modelled, %s reaches %s deep into %s at %s", moving, w.len(r.Depth), still, w.vec(r.Point)),
		})
	}
}

func (w *findingWriter) names(m *Motion, moving, still int) (string, string) {
	return w.session.Parts[m.Moving[moving]].Name, w.session.Parts[m.Still[still]].Name
}

// limits tells of limits that reach past a contact.
func (w *findingWriter) limits(m *Motion) {
	l, ok := w.joint.Limit(0)
	if !ok {
		return
	}
	for _, end := range []struct {
		name    string
		limit   float64
		event   *contact.Event
		blocked func(limit, contact float64) bool
	}{
		{"lower", l.Lower, m.Free.Lower, func(a, b float64) bool { return a < b }},
		{"upper", l.Upper, m.Free.Upper, func(a, b float64) bool { return a > b }},
	} {
		if end.event == nil || math.IsInf(end.limit, 0) || !end.blocked(end.limit, end.event.Value) {
			continue
		}
		moving, still := w.names(m, end.event.Moving, end.event.Still)
		w.add(Finding{
			Severity: Stop, Kind: RangeBlocked, Value: end.limit, Limit: end.event.Value, Unit: unitOf(m.Freedom()),
			Parts: []string{moving, still}, Points: []r3.Vec{end.event.Point},
			Text: fmt.Sprintf("the %s limit of %s cannot be reached: %s meets %s at %s; bring the limit in or cut the parts free",
				end.name, w.valueText(m.Freedom(), end.limit), moving, still, w.valueText(m.Freedom(), end.event.Value)),
		})
	}
}

// Prove computes the motion of a joint of the document, where it has one
// freedom, and returns its findings with the motion, which is nil where there is
// none. A motion that cannot be computed is a finding; it fails only when ctx is
// done.
func (s *Session) Prove(ctx context.Context, j Joint, progress job.Progress) ([]Finding, *Motion, error) {
	if j.Kind.Freedoms() > 1 {
		list, err := s.proveSeveral(ctx, j, progress)
		return list, nil, err
	}
	if j.Kind == kinematics.Fixed {
		return s.Findings(j, nil), nil, nil
	}
	m, err := s.MotionOf(ctx, j, MotionOptions{}, progress)
	switch {
	case ctx.Err() != nil:
		return nil, nil, ctx.Err()
	case err != nil:
		return append(s.Findings(j, nil), Finding{
			Severity: Check, Kind: MotionUnproven, Joint: j.Name, Limit: math.NaN(),
			Text: fmt.Sprintf("its motion could not be computed: %v", err),
		}), nil, nil
	}
	return s.Findings(j, m), m, nil
}
