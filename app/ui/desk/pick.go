package desk

import (
	"context"
	"slices"

	"pintle/app/doc"
	"pintle/app/job"
	"pintle/fit"
	"pintle/viewport"
)

// Live is what the present pick says, computed while the user still points.
type Live struct {
	Picks   []doc.Pick
	Text    string       // what is picked, in words
	Answers []doc.Answer // each element by itself, and all together
	Joint   doc.Joint    // the hinge that would be made
	Err     error        // why there would be none
	Hover   bool         // the element under the pointer is counted in
}

// Datum returns the datum that a hinge would be made of, or else the first
// answer that there is.
func (l Live) Datum() (fit.Datum, bool) {
	if l.Err == nil && l.Joint.Name != "" {
		return l.Joint.Datum, true
	}
	for _, a := range l.Answers {
		if a.Err == nil {
			return a.Datum, true
		}
	}
	return fit.Datum{}, false
}

// Mode returns what a click picks.
func (d *Desk) Mode() viewport.PickMode { return d.mode }

// SetMode says what a click picks from now on.
func (d *Desk) SetMode(m viewport.PickMode) {
	if d.mode != m {
		d.mode, d.hover = m, noHit()
		d.look()
		d.changed()
	}
}

// Picks returns the picked elements.
func (d *Desk) Picks() []viewport.Hit { return d.picks }

// Live returns what the present pick says.
func (d *Desk) Live() Live { return d.live }

// Hover follows the pointer.
func (d *Desk) Hover(h viewport.Hit) {
	if h.Same(d.hover) {
		return
	}
	d.hover = h
	if d.picking() {
		d.look()
	}
	d.moved()
}

// picking reports whether clicks collect elements for a new hinge.
func (d *Desk) picking() bool {
	return d.step == StepJoints && d.joint == "" && !d.aim.Active && d.mode != viewport.PickPart && !d.Reviewing()
}

// Click picks what is under the pointer: a part is selected; another element
// joins the pick, or leaves it when it was in it already. Empty paper clears
// the selection but never the pick, which cost work.
func (d *Desk) Click(h viewport.Hit) {
	switch {
	case d.session == nil:
	case d.aim.Active:
		d.aimAt(h)
	case d.Reviewing():
		if h.OK() {
			d.lookAtPart(h.Part)
		}
	case !h.OK():
		d.SelectJoint("")
		d.SelectPart(-1)
	case h.Mode == viewport.PickPart || d.step != StepJoints:
		d.clickPart(h.Part)
	default:
		d.joint, d.part = "", -1
		if i := slices.IndexFunc(d.picks, h.Same); i >= 0 {
			d.picks = slices.Delete(slices.Clone(d.picks), i, i+1)
		} else {
			d.picks = append(slices.Clone(d.picks), h)
		}
		d.look()
		d.changed()
	}
}

// clickPart selects the part, or in the later steps the joint that carries it.
func (d *Desk) clickPart(part int) {
	if part >= len(d.session.Parts) {
		return
	}
	if d.step >= StepMotion {
		if i := d.session.Doc.JointOf(d.session.Parts[part].Name); i >= 0 {
			d.SelectJoint(d.session.Doc.Joints[i].Name)
			return
		}
	}
	d.SelectPart(part)
}

// ClearPicks forgets the picked elements.
func (d *Desk) ClearPicks() {
	d.forgetPicks()
	d.changed()
}

func (d *Desk) forgetPicks() {
	d.picks, d.live, d.given = nil, Live{}, doc.JointOptions{}
	d.liveJob.Drop()
}

// keepPicks forgets what is picked where its parts are no longer made of the
// same meshes as in the session before, and reads it anew where they are.
func (d *Desk) keepPicks(before *doc.Session) {
	now := d.session.Parts
	gone := func(h viewport.Hit) bool {
		return h.OK() && (h.Part >= min(len(now), len(before.Parts)) || now[h.Part].Mesh != before.Parts[h.Part].Mesh)
	}
	if gone(d.hover) {
		d.hover = noHit()
	}
	switch {
	case slices.ContainsFunc(d.picks, gone):
		d.forgetPicks()
	case len(d.picks) > 0:
		d.look()
	}
}

// SwapParts lets the other of the two parts be the one that moves.
func (d *Desk) SwapParts() {
	j := d.live.Joint
	if d.live.Err != nil || j.Parent == "" {
		return
	}
	d.given.Child, d.given.Parent = j.Parent, j.Child
	d.look()
	d.changed()
}

// Escape leaves what the user is in the middle of: long work, then aiming, the
// proposals, the pick, and at last the selection.
func (d *Desk) Escape() {
	switch {
	case d.task != nil:
		d.CancelTask()
	case d.aim.Active:
		d.aim = Aim{}
		d.changed()
	case d.Reviewing():
		d.EndReview()
	case len(d.picks) > 0:
		d.ClearPicks()
	default:
		d.SelectJoint("")
		d.SelectPart(-1)
	}
}

// elements returns a hit as elements of its part's mesh.
func elements(s *doc.Session, h viewport.Hit) doc.Elements {
	switch h.Mode {
	case viewport.PickPoint:
		return doc.Elements{Vertices: []int32{int32(h.Vertex)}}
	case viewport.PickEdge:
		return doc.Elements{Edges: [][2]int32{s.Parts[h.Part].Mesh.Topology().EdgeVerts[h.Edge]}}
	case viewport.PickLoop:
		return doc.Elements{Loops: []doc.Loop{{Vertices: h.Loop.Vertices, Closed: h.Loop.Closed}}}
	case viewport.PickPatch:
		return doc.Elements{Triangles: h.Patch}
	}
	return doc.Elements{}
}

// toPicks turns hits into picks on the model's own parts.
func toPicks(s *doc.Session, hits []viewport.Hit) ([]doc.Pick, error) {
	var out []doc.Pick
	for _, h := range hits {
		if !h.OK() || h.Part >= len(s.Parts) {
			continue
		}
		p, err := s.Pick(h.Part, elements(s, h))
		if err != nil {
			return nil, err
		}
		out = append(out, p...)
	}
	return out, nil
}

// look computes anew what the pick says, with the element under the pointer.
func (d *Desk) look() {
	hits := slices.Clone(d.picks)
	hovered := d.picking() && d.hover.OK() && d.hover.Mode == d.mode && !slices.ContainsFunc(hits, d.hover.Same)
	if hovered {
		hits = append(hits, d.hover)
	}
	if len(hits) == 0 || d.session == nil {
		d.live = Live{}
		d.liveJob.Drop()
		return
	}
	s, given := d.session, d.given
	d.liveJob.Submit(func(context.Context, job.Progress) (Live, error) {
		return readPick(s, hits, hovered, given), nil
	}, job.Callbacks[Live]{Result: func(l Live, err error) {
		if err != nil {
			l.Err = err
		}
		d.live = l
		d.changed()
	}})
}

// propose makes a hinge of picks, with the part that moves chosen where the
// user has not.
func propose(s *doc.Session, picks []doc.Pick, given doc.JointOptions) (doc.Joint, error) {
	j, err := s.ProposeJoint(picks, given)
	if err != nil || given.Child != "" {
		return j, err
	}
	if other, ok := whoMoves(s, j); ok {
		return s.ProposeJoint(picks, other)
	}
	return j, nil
}

func readPick(s *doc.Session, hits []viewport.Hit, hovered bool, given doc.JointOptions) Live {
	picks, err := toPicks(s, hits)
	l := Live{Picks: picks, Hover: hovered, Err: err}
	if err != nil {
		return l
	}
	l.Text = doc.PickText(picks)
	l.Answers = s.Answers(picks)
	l.Joint, l.Err = propose(s, picks, given)
	return l
}
