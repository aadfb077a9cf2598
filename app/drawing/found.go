package drawing

import (
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

// Found is what of proposed joints is drawn while they are looked through.
type Found struct {
	List   []doc.Proposal
	At     int       // the one looked at, -1 for none
	Choice int       // of its choices
	Values []float64 // where it is swung to in each freedom: radians or model units
	Swing  []float64 // how far it swings either way by itself in each, for the arc
	Out    []bool    // by proposal: rejected, drawn no more
}

// current returns the proposal looked at and its choice.
func (f *Found) current() (doc.Proposal, doc.Choice, bool) {
	if f == nil || f.At < 0 || f.At >= len(f.List) || f.Choice < 0 || f.Choice >= len(f.List[f.At].Choices) {
		return doc.Proposal{}, doc.Choice{}, false
	}
	return f.List[f.At], f.List[f.At].Choices[f.Choice], true
}

// swing moves the parts that hang on the proposal looked at.
func (b *builder) swing() {
	p, c, ok := b.o.Found.current()
	if !ok {
		return
	}
	x := c.Motion(b.o.Found.Values...)
	if x == kinematics.Identity() {
		return
	}
	for _, i := range p.Moves {
		b.motions[i] = x.Mul(b.motions[i])
	}
}

// found draws the proposals, in place of the document's joints: a faint axis and a balloon for each, and the one
// looked at with its frame, what its axis rests on, and the runners-up.
func (b *builder) found() {
	f := b.o.Found
	p, c, looking := f.current()
	for i, q := range f.List {
		if looking && i == f.At || i < len(f.Out) && f.Out[i] || len(q.Choices) == 0 {
			continue
		}
		x := b.motions[q.Parent].Frame(q.Choices[0].Frame)
		l := b.evidenceReach(q.Choices[0])
		b.mark(
			draft.AxisLine{Axis: x.Axis(), Before: -l, After: l, Ink: draft.InkFaint, Depth: draft.Faded},
			draft.Balloon{At: x.Origin, Text: strconv.Itoa(i + 1), Ink: draft.InkMain},
		)
	}
	if !looking {
		return
	}
	b.pair(p)
	b.evidence(c)
	b.lookedAt(p, c)
	b.runnersUp(p)
}

// pair lets the proposal's two parts stand out: all others stand back, and the
// parent does too where it encloses the child.
func (b *builder) pair(p doc.Proposal) {
	if b.s.Doc.Parts[p.Child].Hidden {
		return
	}
	enclosed := b.encloses(p.Parent, p.Child)
	for i := range b.s.Parts {
		back := i != p.Child && (i != p.Parent || enclosed)
		if back && b.scene.Parts[i].Look == draft.Solid {
			b.scene.Parts[i].Look = draft.Ghost
		}
	}
}

// mostInside is the share of a part's vertices within another's box from which
// it counts as enclosed.
const mostInside = 0.4

// encloses reports whether so much of the inner part lies within the outer one's
// box that it would hardly be seen.
func (b *builder) encloses(outer, inner int) bool {
	const samples = 500
	v := b.s.Parts[inner].Mesh.Vertices()
	box := b.s.Parts[outer].Mesh.Bounds()
	in, all := 0, 0
	for k := 0; k < len(v); k += 1 + len(v)/samples {
		p := v[k]
		all++
		if p.X >= box.Min.X && p.X <= box.Max.X && p.Y >= box.Min.Y && p.Y <= box.Max.Y && p.Z >= box.Min.Z && p.Z <= box.Max.Z {
			in++
		}
	}
	return float64(in) >= mostInside*float64(all)
}

// evidence washes the faces, or inks the rims or vertices, that the axis can be
// picked by.
func (b *builder) evidence(c doc.Choice) {
	for _, pick := range c.Picks {
		for _, on := range b.s.Where(pick) {
			m, x := b.s.Parts[on.Part].Mesh, b.motions[on.Part]
			if len(on.Triangles) > 0 {
				b.mark(
					draft.Patch{Mesh: m, Motion: x, Triangles: on.Triangles, Ink: draft.InkHinge},
					draft.EdgeSet{Mesh: m, Motion: x, Edges: draft.Border(m, on.Triangles), Ink: draft.InkHinge},
				)
			}
			for _, v := range on.Vertices {
				b.mark(draft.Point{At: x.Apply(m.Vertices()[v]), Size: 2, Ink: draft.InkHinge})
			}
			for _, l := range on.Loops {
				points := make([]r3.Vec, len(l.Vertices))
				for k, v := range l.Vertices {
					points[k] = x.Apply(m.Vertices()[v])
				}
				b.mark(draft.Polyline{Points: points, Closed: l.Closed, Wide: true, Ink: draft.InkHinge, Depth: draft.Faded})
			}
		}
	}
}

// lookedAt draws the proposal's frame where its parent stands, with an arc that
// says how far it swings.
func (b *builder) lookedAt(p doc.Proposal, c doc.Choice) {
	rest := b.motions[p.Parent].Frame(c.Frame)
	now := b.motions[p.Child].Frame(c.Frame)
	l := b.evidenceReach(c)
	radius := max(2.2*c.Evidence.Radius, 0.35*b.s.Parts[p.Child].Mesh.Diagonal())
	b.mark(draft.FrameMark{
		Frame: now, Back: 1.6 * l, Hinge: 2 * l, Reach: max(0.6*radius, l), Side: max(0.35*radius, 0.8*l),
	})
	if swing := b.o.Found.Swing; c.Kind.Freedom(0).About == kinematics.RoleHinge && c.Kind.Turns() && len(swing) > 0 {
		reach := kinematics.Range{Lower: -swing[0], Upper: swing[0]}
		out := b.swingRadius(p, c)
		b.mark(
			draft.Sector{Frame: rest, Range: reach, Radius: out, Ink: draft.InkRange},
			draft.DimArc{Frame: rest, Range: reach, Radius: 0.93 * out, Ink: draft.InkMain},
		)
	}
	b.mark(
		draft.JointSign{Kind: c.Kind, Frame: now, Ink: draft.InkHinge},
		draft.Balloon{At: now.Origin, Text: strconv.Itoa(b.o.Found.At + 1), Ink: draft.InkHinge, Filled: true},
	)
}

// swingRadius is where the arc of a swing lies: beyond the child, where its reach
// points, and beyond its housing.
func (b *builder) swingRadius(p doc.Proposal, c doc.Choice) float64 {
	const samples = 2000
	v := b.s.Parts[p.Child].Mesh.Vertices()
	far := 0.0
	for k := 0; k < len(v); k += 1 + len(v)/samples {
		far = max(far, r3.Dot(r3.Sub(v[k], c.Frame.Origin), c.Frame.Reach))
	}
	return max(1.15*far+0.03*b.s.Parts[p.Child].Mesh.Diagonal(), 1.5*c.Evidence.Radius)
}

// runnersUp draws the other choices as dashed lines with their places in the
// list.
func (b *builder) runnersUp(p doc.Proposal) {
	if len(p.Choices) < 2 {
		return
	}
	for k, c := range p.Choices {
		if k == b.o.Found.Choice {
			continue
		}
		x := b.motions[p.Parent].Axis(c.Frame.Axis())
		l := 1.5 * b.evidenceReach(c)
		b.mark(draft.Line{
			From: x.At(-l), To: x.At(l), Type: draft.Dashed, Ink: draft.InkMain,
			Label: "axis " + strconv.Itoa(k+1),
		})
	}
}

// evidenceReach is how far a choice's axis line stands out of what it rests on.
func (b *builder) evidenceReach(c doc.Choice) float64 {
	half := (c.Datum.Extent[1] - c.Datum.Extent[0]) / 2
	return 1.25*half + 0.6*max(c.Datum.Radius, c.Evidence.Radius) + 0.02*b.size()
}
