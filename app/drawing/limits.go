package drawing

import (
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/kinematics"
	"pintle/kinematics/contact"
	"pintle/viewport/draft"
)

// freeRange draws how far a joint of one freedom goes before it meets something,
// with the extreme positions and the first contacts.
func (b *builder) freeRange(j doc.Joint, parent kinematics.Transform, radius float64) {
	m := b.o.Motion
	free, shown := m.FreeRange(), m.Shown()
	rest := parent.Frame(j.Frame) // the range counts from where the model stands
	none := math.IsInf(free.Lower, -1) && math.IsInf(free.Upper, 1)
	switch {
	case m.Freedom().Turns:
		if none {
			shown = kinematics.Range{Lower: -math.Pi, Upper: math.Pi}
		}
		text := degrees(shown.Span(), 2)
		if shown.Span() >= 2*math.Pi-1e-9 {
			text = "free all round"
		}
		b.mark(draft.Sector{Frame: rest, Range: shown, Radius: radius, Ink: draft.InkRange})
		b.mark(draft.DimArc{Frame: rest, Range: shown, Radius: 0.86 * radius, Text: text, Ink: draft.InkMain})
	case !none:
		b.travel(rest, shown, radius)
	}
	for _, e := range []*contact.Event{m.Free.Lower, m.Free.Upper} {
		if e != nil {
			b.extreme(j, parent, []float64{e.Value}, m.Moving)
		}
	}
	for _, e := range []*contact.Event{m.Free.Lower, m.Free.Upper} {
		if e != nil {
			b.contact(parent.Apply(e.Point), m.Freedom(), e.Value)
		}
	}
}

// travel draws the range of a slide as a dimension along it, beside the housing.
func (b *builder) travel(f kinematics.Frame, r kinematics.Range, aside float64) {
	axis := f.Axis()
	b.mark(draft.Dimension{
		A: axis.At(r.Lower), B: axis.At(r.Upper), Offset: r3.Scale(0.5*aside, f.Side()),
		Text: b.length(r.Span()), Ink: draft.InkMain,
	})
}

// length sets a length in model units with a true minus sign.
func (b *builder) length(v float64) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', 2, 64) + " " + string(b.s.Model.Unit)
	if v < 0 {
		return "−" + s
	}
	return s
}

func (b *builder) contact(at r3.Vec, f kinematics.Freedom, value float64) {
	text := b.length(value)
	if f.Turns {
		text = degrees(value, 2)
	}
	if value > 0 {
		text = "+" + text
	}
	b.mark(
		draft.Point{At: at, Shape: draft.DotSign, Ink: draft.InkBad},
		draft.Label{At: at, Text: "first contact " + text, Ink: draft.InkBad, Leader: true},
	)
}

// limits draws a joint's limits where its motion is not known: those of the
// chosen freedom with the extreme positions there, and the cone that a ball or
// universal joint may lean in.
func (b *builder) limits(j doc.Joint, parent kinematics.Transform, radius float64) {
	rest := parent.Frame(j.Frame)
	if j.Cone != nil {
		b.cone(*j.Cone, rest, 1.2*radius)
	}
	i := min(max(b.o.Freedom, 0), max(j.Kind.Freedoms()-1, 0))
	r, ok := j.Limit(i)
	if !ok {
		return
	}
	values := b.valuesOf(j.Name)
	if i >= len(values) {
		return
	}
	if f := j.Kind.Freedom(i); f.Turns && !math.IsInf(r.Span(), 0) {
		at := about(b.turned(j, rest, values, i), f.About)
		b.mark(draft.Sector{Frame: at, Range: r, Radius: radius, Ink: draft.InkRange})
		b.mark(draft.DimArc{Frame: at, Range: r, Radius: 0.86 * radius, Text: degrees(r.Span(), 2), Ink: draft.InkMain})
	} else if !f.Turns && !math.IsInf(r.Span(), 0) {
		b.travel(about(b.turned(j, rest, values, i), f.About), r, radius)
	}
	moving, _ := b.s.MovingParts(j)
	for _, end := range []float64{r.Lower, r.Upper} {
		if !math.IsInf(end, 0) {
			there := slices.Clone(values)
			there[i] = end
			b.extreme(j, parent, there, moving)
		}
	}
}

// valuesOf returns the values that a joint of the tree stands at.
func (b *builder) valuesOf(joint string) []float64 {
	i := b.tree.Find(joint)
	if i < 0 {
		return nil
	}
	first, n := b.tree.ValueIndex(i)
	return b.values[first : first+n]
}

// turned returns the joint's frame as the values that come before value i have
// left its axis.
func (b *builder) turned(j doc.Joint, rest kinematics.Frame, values []float64, i int) kinematics.Frame {
	if j.Kind == kinematics.Spherical && i < 2 { // both swings are about axes of the parent
		return rest
	}
	k := kinematics.Joint{Kind: j.Kind, Frame: rest, Pitch: j.Pitch}
	return k.Motion(values[:i]...).Frame(rest)
}

// about returns a frame at the same place whose hinge is the role's direction
// and whose reach shows its angle 0.
func about(f kinematics.Frame, role kinematics.Role) kinematics.Frame {
	switch role {
	case kinematics.RoleSide:
		return kinematics.Frame{Origin: f.Origin, Hinge: f.Side(), Reach: f.Reach}
	case kinematics.RoleReach:
		return kinematics.Frame{Origin: f.Origin, Hinge: f.Reach, Reach: f.Side()}
	}
	return f
}

// cone draws how far the reach may lean: the rim at a distance from the origin
// and lines to it.
func (b *builder) cone(c kinematics.Cone, f kinematics.Frame, length float64) {
	const steps, lines = 96, 12
	rim := make([]r3.Vec, steps)
	for i := range rim {
		a := 2 * math.Pi * float64(i) / steps
		s, co := math.Sincos(a)
		sp, cp := math.Sincos(c.At(a))
		out := r3.Add(r3.Scale(co, f.Side()), r3.Scale(s, f.Hinge))
		rim[i] = r3.Add(f.Origin, r3.Scale(length, r3.Add(r3.Scale(cp, f.Reach), r3.Scale(sp, out))))
		if i%(steps/lines) == 0 {
			b.mark(draft.Line{From: f.Origin, To: rim[i], Ink: draft.InkFaint, Depth: draft.Faded})
		}
	}
	b.mark(draft.Polyline{Points: rim, Closed: true, Ink: draft.InkMain, Depth: draft.Faded})
}

// region draws where the reach can point before it meets something: a ball
// joint's as a surface, both with their rim.
func (b *builder) region(j doc.Joint, parent kinematics.Transform, length float64) {
	var rim []r3.Vec
	for _, ray := range b.o.Region.Rim() {
		at := r3.Add(j.Frame.Origin, r3.Scale(length, doc.Direction(j.Frame, ray.Azimuth, ray.Lean)))
		rim = append(rim, parent.Apply(at))
	}
	b.mark(draft.Polyline{Points: rim, Closed: true, Wide: true, Ink: draft.InkRange, Depth: draft.Faded})
	if n := b.o.Region.Narrowest(); n.Event != nil {
		b.contact(parent.Apply(n.Event.Point), kinematics.Spherical.Freedom(0), n.Lean)
	}
	if b.o.Region.Ball == nil {
		return
	}
	if surface, err := b.o.Region.Ball.Surface(length); err == nil { // else it has no extent
		b.scene.Parts = append(b.scene.Parts, draft.PartView{Mesh: surface, Motion: parent, Look: draft.Wash, NoPick: true})
	}
}

// extreme outlines the moving parts at values of the joint.
func (b *builder) extreme(j doc.Joint, parent kinematics.Transform, values []float64, moving []int) {
	k := kinematics.Joint{Kind: j.Kind, Frame: j.Frame, Pitch: j.Pitch}
	x := parent.Mul(k.Motion(values...))
	for _, p := range moving {
		if !b.s.Doc.Parts[p].Hidden {
			at := x
			if m := b.o.Motion; m != nil && m.Poses != nil {
				at = x.Mul(m.Poses[p])
			}
			b.mark(draft.Extreme{Mesh: b.s.Parts[p].Mesh, Motion: at, Ink: draft.InkMain})
		}
	}
}
