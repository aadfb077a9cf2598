// Package drawing turns a session into the scene of a technical drawing: the
// parts where the joints put them, axis lines with balloons, the selected
// joint's frame, its range, extreme positions and contacts, the datum of a
// pick. The window and the draw command show the same scene.
package drawing

import (
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

// Options say what is drawn besides the parts.
type Options struct {
	Values  map[string][]float64 // joint name -> its values; absent joints stand as modelled
	Joint   string               // the selected joint, "" for none
	Freedom int                  // of the selected joint: the value whose limits are drawn
	Motion  *doc.Motion          // of the selected joint, nil where unknown
	// Near are the nearest points of the selected joint's moving and still parts, in
	// its parent as modelled; nil for none.
	Near     *[2]r3.Vec
	Envelope *mesh.Mesh  // of the selected joint, nil for none
	Carve    []Carve     // what reaches into the envelope
	Region   *doc.Region // of the selected joint, nil for none
	Found    *Found      // proposed joints, nil for none
	Part     int         // the selected part, -1 for none
	Isolate  bool        // only the selected joint's two parts solid, the others ghosts
	Palette  draft.Palette
	Style    draft.Style
	Title    draft.TitleBlock // left out where its Title is empty
}

// Carve is what of a still part lies inside an envelope.
type Carve struct {
	Part int // number
	Mesh *mesh.Mesh
}

// Scene returns the drawing. Part i of the session is part i of the scene;
// what else is drawn as a part stands behind them and cannot be picked. It
// fails where the joints form no tree.
func Scene(s *doc.Session, o Options) (draft.Scene, error) {
	b := builder{s: s, o: o, scene: draft.Scene{Palette: o.Palette, Style: o.Style}}
	if err := b.pose(); err != nil {
		return draft.Scene{}, err
	}
	b.swing()
	b.parts()
	if b.o.Found != nil {
		b.found()
	} else {
		b.joints()
	}
	b.selected()
	if o.Title.Title != "" {
		b.mark(o.Title)
	}
	b.mark(draft.Compass{})
	b.mark(draft.ScaleBar{Unit: string(s.Model.Unit)})
	return b.scene, nil
}

type builder struct {
	s       *doc.Session
	o       Options
	scene   draft.Scene
	tree    *kinematics.Tree
	values  []float64
	motions []kinematics.Transform
}

func (b *builder) mark(m ...draft.Mark) { b.scene.Marks = append(b.scene.Marks, m...) }

func (b *builder) pose() error {
	t, err := b.s.Tree()
	if err != nil {
		return err
	}
	if b.values, err = b.s.Values(t, b.o.Values); err != nil {
		return err
	}
	b.tree, b.motions = t, t.FK(b.values)
	return nil
}

func (b *builder) parts() {
	involved := map[string]bool{}
	if i := b.s.Doc.JointIndex(b.o.Joint); i >= 0 {
		involved[b.s.Doc.Joints[i].Parent], involved[b.s.Doc.Joints[i].Child] = true, true
	}
	for i, p := range b.s.Parts {
		v := draft.PartView{Mesh: p.Mesh, Motion: b.motions[i], Tint: i}
		switch {
		case b.s.Doc.Parts[i].Hidden:
			v.Look = draft.Hidden
		case b.o.Isolate && len(involved) > 0 && !involved[p.Name]:
			v.Look, v.NoPick = draft.Ghost, true
		}
		if i == b.o.Part {
			v.Emphasis = draft.Selected
		}
		b.scene.Parts = append(b.scene.Parts, v)
	}
}

// joints draws every joint that is not selected: a short axis line and its
// balloon.
func (b *builder) joints() {
	for i, j := range b.s.Doc.Joints {
		f := b.tree.FrameAt(i, b.motions)
		selected := j.Name == b.o.Joint
		ink := draft.InkMain
		if selected {
			ink = draft.InkHinge
		} else {
			l := b.axisReach(j)
			b.mark(draft.AxisLine{Axis: f.Axis(), Before: -l, After: l, Ink: draft.InkFaint, Depth: draft.Faded})
		}
		b.mark(draft.JointSign{Kind: j.Kind, Frame: f, Ink: ink})
		b.mark(draft.Balloon{At: f.Origin, Text: strconv.Itoa(i + 1), Ink: ink, Filled: selected})
	}
}

// axisReach is how far a joint's axis line stands out of its housing.
func (b *builder) axisReach(j doc.Joint) float64 {
	half := (j.Datum.Extent[1] - j.Datum.Extent[0]) / 2
	return 1.25*half + 0.4*j.Datum.Radius + 0.02*b.size()
}

func (b *builder) size() float64 {
	box := b.s.Model.Bounds()
	return r3.Norm(r3.Sub(box.Max, box.Min))
}

// selected draws the selected joint: frame with letters, free range, extreme
// positions, first contacts, envelope.
func (b *builder) selected() {
	i := b.s.Doc.JointIndex(b.o.Joint)
	if i < 0 {
		return
	}
	j := b.s.Doc.Joints[i]
	f := b.tree.FrameAt(i, b.motions)
	radius := b.rangeRadius(j)
	l := b.axisReach(j)
	b.mark(draft.FrameMark{
		Frame: f, Back: 1.3 * l, Hinge: 1.7 * l, Reach: max(0.5*radius, l), Side: max(0.3*radius, 0.8*l),
		Letters: [3]string{string(j.Letters.Hinge), string(j.Letters.Reach), string(j.Letters.Side())},
	})
	parent := kinematics.Identity()
	if p := b.s.Doc.PartIndex(j.Parent); p >= 0 {
		parent = b.motions[p]
	}
	switch {
	case b.o.Motion != nil && j.Kind.Freedoms() == 1:
		b.freeRange(j, parent, radius)
	default:
		b.limits(j, parent, radius)
	}
	if n := b.o.Near; n != nil {
		from, to := parent.Apply(n[0]), parent.Apply(n[1])
		b.mark(draft.Line{From: from, To: to, Ink: draft.InkBad},
			draft.Point{At: from, Shape: draft.RingSign, Size: 2.5, Ink: draft.InkBad},
			draft.Point{At: to, Shape: draft.RingSign, Size: 2.5, Ink: draft.InkBad})
	}
	if b.o.Region != nil {
		b.region(j, parent, 1.2*radius)
	}
	if b.o.Envelope != nil {
		b.scene.Parts = append(b.scene.Parts, draft.PartView{Mesh: b.o.Envelope, Motion: parent, Look: draft.Wash, NoPick: true})
	}
	for _, c := range b.o.Carve {
		all := make([]int32, len(c.Mesh.Triangles()))
		for t := range all {
			all[t] = int32(t)
		}
		b.mark(draft.Patch{Mesh: c.Mesh, Motion: b.motions[c.Part], Triangles: all, Ink: draft.InkBad, Strong: true})
	}
}

// rangeRadius is where the range's arc lies: outside the housing, inside the
// child part.
func (b *builder) rangeRadius(j doc.Joint) float64 {
	far := 0.0
	if i := b.s.Doc.PartIndex(j.Child); i >= 0 {
		box := b.s.Parts[i].Mesh.Bounds()
		far = j.Frame.Axis().Distance(box.Min)
		far = max(far, j.Frame.Axis().Distance(box.Max))
	}
	return max(2.2*j.Datum.Radius, 0.62*far, 0.03*b.size())
}

// degrees sets radians with a true minus sign.
func degrees(rad float64, places int) string {
	s := strconv.FormatFloat(math.Abs(rad)*180/math.Pi, 'f', places, 64) + "°"
	if rad < 0 {
		return "−" + s
	}
	return s
}

// Datum returns the marks of a datum: what is ideal in it, drawn over the parts.
// motion takes the part it was fitted on to where it stands.
func Datum(d fit.Datum, motion kinematics.Transform, size float64, ink draft.Ink) []draft.Mark {
	o, dir := motion.Apply(d.Origin), motion.Turn(d.Axis)
	axis := kinematics.Axis{Point: o, Dir: dir}
	half := max((d.Extent[1]-d.Extent[0])/2, 0.02*size)
	mid := (d.Extent[0] + d.Extent[1]) / 2
	line := draft.AxisLine{Axis: axis, Before: mid - 1.5*half, After: mid + 1.5*half, Ink: draft.InkHinge}
	switch d.Kind {
	case fit.Point:
		return []draft.Mark{draft.Point{At: o, Shape: draft.CrossSign, Ink: ink}}
	case fit.Plane:
		return []draft.Mark{draft.Plane{Point: o, Normal: dir, Half: 0.035 * size, Ink: ink}, line}
	case fit.Circle:
		return []draft.Mark{draft.Ring{Axis: axis, Radius: d.Radius, Wide: true, Ink: ink, Centre: true}, line}
	case fit.Sphere:
		return []draft.Mark{draft.Ball{Centre: o, Radius: d.Radius, Ink: ink}}
	case fit.Cylinder:
		return []draft.Mark{draft.Revolved{Axis: axis, From: d.Extent[0], To: d.Extent[1], Radius: d.Radius, Radius2: d.Radius, Ink: ink}, line}
	case fit.Cone:
		slope := math.Tan(d.HalfAngle)
		return []draft.Mark{draft.Revolved{
			Axis: axis, From: d.Extent[0], To: d.Extent[1],
			Radius: math.Abs(d.Extent[0] * slope), Radius2: math.Abs(d.Extent[1] * slope), Ink: ink,
		}, line}
	case fit.Torus:
		return []draft.Mark{draft.Tube{Axis: axis, Radius: d.Radius, Radius2: d.Radius2, Ink: ink}}
	}
	return []draft.Mark{line, draft.Point{At: axis.At(mid), Shape: draft.CrossSign, Ink: ink}}
}
