package handover

import (
	"fmt"
	"math"
	"path/filepath"
	"strconv"

	"pintle/app/doc"
	"pintle/kinematics"
	"pintle/viewport/draft"
)

// PictureOptions say what a picture shows. The zero value is the whole
// mechanism as modelled.
type PictureOptions struct {
	Pose   []doc.JointValue // radians or model units; joints not named stand at 0
	Joint  string           // drawn with its frame, its range and the ends of it; "": none
	View   draft.Straight   // counted from draft.Front
	Aspect float64          // width over height; 0: 1
}

// Picture returns a document as a scene and the camera that shows all of it:
// the parts in the pose, every joint's axis, symbol and balloon, a title
// block. It fails for joints that the document does not have.
func Picture(s *doc.Session, o PictureOptions) (draft.Scene, draft.Camera, error) {
	p, err := newPicture(s, o)
	if err != nil {
		return draft.Scene{}, draft.Camera{}, err
	}
	p.parts()
	for i := range s.Doc.Joints {
		p.joint(i)
	}
	p.furniture()
	aspect := o.Aspect
	if !(aspect > 0) {
		aspect = 1
	}
	camera := draft.NewCamera(p.scene.Bounds(), s.Model.Up, aspect).Straight(o.View)
	return p.scene, camera.Fit(p.scene.Corners(), aspect, draft.DefaultMargin), nil
}

type picture struct {
	session *doc.Session
	options PictureOptions
	tree    *kinematics.Tree
	values  []float64
	motions []kinematics.Transform
	scene   draft.Scene
}

func newPicture(s *doc.Session, o PictureOptions) (*picture, error) {
	tree, err := s.Tree()
	if err != nil {
		return nil, err
	}
	p := &picture{session: s, options: o, tree: tree}
	if p.values, err = s.PoseValues(tree, doc.Pose{Name: "picture", Values: o.Pose}); err != nil {
		return nil, err
	}
	if o.Joint != "" && s.Doc.JointIndex(o.Joint) < 0 {
		return nil, fmt.Errorf("there is no joint %q", o.Joint)
	}
	p.motions = tree.FK(p.values)
	return p, nil
}

func (p *picture) parts() {
	child := ""
	if i := p.session.Doc.JointIndex(p.options.Joint); i >= 0 {
		child = p.session.Doc.Joints[i].Child
	}
	for i, part := range p.session.Parts {
		v := draft.PartView{Mesh: part.Mesh, Motion: p.motions[i], Tint: i}
		if p.session.Doc.Parts[i].Hidden {
			v.Look = draft.Hidden
		}
		if part.Name == child {
			v.Emphasis = draft.Selected
		}
		p.scene.Parts = append(p.scene.Parts, v)
	}
}

// joint adds the marks of joint i, where it stands in the pose.
func (p *picture) joint(i int) {
	j := p.session.Doc.Joints[i]
	frame := p.tree.FrameAt(i, p.motions)
	if first, n := p.tree.ValueIndex(i); n > 0 { // the child's side of the frame
		k := p.tree.Joint(i)
		x := k.Motion(p.values[first])
		if parent := k.Parent; parent != kinematics.World {
			x = p.motions[parent].Mul(x)
		}
		frame = x.Frame(j.Frame)
	}
	chosen := j.Name == p.options.Joint
	reach := p.lineLength(j)
	if chosen {
		p.add(draft.FrameMark{
			Frame: frame, Back: reach, Hinge: reach, Reach: 1.2 * reach, Side: 0.6 * reach,
			Letters: [3]string{string(j.Letters.Hinge), string(j.Letters.Reach), string(j.Letters.Side())},
		})
		p.rangeOf(i, reach)
	} else {
		p.add(draft.AxisLine{Axis: frame.Axis(), Before: -reach, After: reach, Ink: draft.InkHinge})
	}
	p.add(draft.JointSign{Kind: j.Kind, Frame: frame, Ink: draft.InkHinge})
	p.add(draft.Balloon{At: frame.Origin, Text: strconv.Itoa(i + 1), Ink: draft.InkHinge, Filled: chosen})
}

// rangeOf adds the limits of the chosen joint: the sector, its dimension and
// the child's outline at both ends.
func (p *picture) rangeOf(i int, radius float64) {
	k := p.tree.Joint(i)
	if k.Limits == nil || k.Kind != kinematics.Revolute {
		return
	}
	still := p.tree.FrameAt(i, p.motions) // on the parent, where angles count from
	p.add(draft.Sector{Frame: still, Range: *k.Limits, Radius: 1.1 * radius, Ink: draft.InkRange})
	p.add(draft.DimArc{
		Frame: still, Range: *k.Limits, Radius: 1.1 * radius, Ink: draft.InkMain,
		Text: doc.AngleText(k.Limits.Span()),
	})
	for _, end := range []float64{k.Limits.Lower, k.Limits.Upper} {
		x := k.Motion(end)
		if k.Parent != kinematics.World {
			x = p.motions[k.Parent].Mul(x)
		}
		p.add(draft.Extreme{Mesh: p.session.Parts[k.Child].Mesh, Motion: x, Ink: draft.InkMain})
	}
}

// lineLength returns how far a joint's axis line reaches from its origin: past
// the housing, and far enough to be seen on the child part.
func (p *picture) lineLength(j doc.Joint) float64 {
	d := j.Datum
	length := 0.75*(d.Extent[1]-d.Extent[0]) + d.Radius
	if i := p.session.Doc.PartIndex(j.Child); i >= 0 {
		length = math.Max(length, 0.2*p.session.Parts[i].Mesh.Diagonal())
	}
	return length
}

func (p *picture) furniture() {
	s := p.session
	name := filepath.Base(s.Doc.Model.Path)
	triangles := 0
	for _, part := range s.Parts {
		triangles += len(part.Mesh.Triangles())
	}
	pose := "as modelled"
	if len(p.options.Pose) > 0 {
		pose = "posed"
	}
	p.add(draft.TitleBlock{
		Title: name, Note: strconv.Itoa(triangles) + " triangles",
		Rows: [][]string{
			{"unit " + string(s.Model.Unit), "up " + string(s.Model.Up)},
			{"view " + p.options.View.String(), "pose " + pose},
		},
	})
	p.add(draft.ScaleBar{Unit: string(s.Model.Unit)})
	p.add(draft.Compass{})
}

func (p *picture) add(m draft.Mark) { p.scene.Marks = append(p.scene.Marks, m) }
