package desk

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/drawing"
	"pintle/app/ui/figures"
	"pintle/kinematics"
	"pintle/viewport"
	"pintle/viewport/draft"
)

// Scene returns the drawing of the desk as it is.
func (d *Desk) Scene() draft.Scene {
	palette := draft.Paper()
	if d.shows.Night {
		palette = draft.Night()
	}
	if d.session == nil {
		return draft.Scene{Palette: palette}
	}
	o := drawing.Options{
		Values: d.values, Joint: d.joint, Freedom: d.Freedom(), Part: d.part, Palette: palette, Title: d.titleBlock(),
		Isolate: d.shows.Isolate, Style: draft.Style{Wire: d.shows.Wire, SeeThrough: d.shows.SeeThrough},
	}
	if d.joint != "" {
		o.Motion, _ = d.Standing()
		if p, ok := d.Near(); ok && p.Distance > 0 {
			o.Near = &[2]r3.Vec{p.OnMoving, p.OnStill}
		}
	}
	if r := d.proofs.region; r != nil {
		o.Region = r.Region
	}
	if e := d.proofs.envelope; e != nil {
		o.Envelope = e.Mesh
		if e.Carving != nil {
			for i, p := range e.Carving.Parts {
				if p.Mesh != nil {
					o.Carve = append(o.Carve, drawing.Carve{Part: e.Still[i], Mesh: p.Mesh})
				}
			}
		}
	}
	o.Found = d.drawnReview()
	s, err := drawing.Scene(d.session, o)
	if err != nil {
		d.problem(fmt.Errorf("drawing: %w", err))
		return draft.Scene{Palette: palette}
	}
	d.markPicks(&s)
	return s
}

func (d *Desk) titleBlock() draft.TitleBlock {
	triangles := 0
	for _, p := range d.session.Parts {
		triangles += len(p.Mesh.Triangles())
	}
	about := "no joint selected"
	if d.Reviewing() {
		about = fmt.Sprintf("about proposal %d", d.review.at+1)
	}
	if _, n, ok := d.Joint(); ok {
		about = fmt.Sprintf("about joint %d", n)
	}
	return draft.TitleBlock{
		Title: d.title, Note: figures.Plural(triangles, "triangle", "triangles"),
		Rows: [][]string{{"unit " + string(d.session.Model.Unit), "up " + string(d.session.Model.Up)}, {about, figures.Plural(len(d.session.Parts), "part", "parts")}},
	}
}

// markPicks draws the picked elements, what the pointer is on, and the datum
// of both together.
func (d *Desk) markPicks(s *draft.Scene) {
	for _, h := range d.picks {
		s.Marks = append(s.Marks, h.Marks(*s, draft.InkSelected)...)
	}
	if d.hover.OK() && d.hover.Part < len(s.Parts) {
		if d.hover.Mode == viewport.PickPart {
			s.Parts[d.hover.Part].Emphasis = max(s.Parts[d.hover.Part].Emphasis, draft.Hovered)
		} else if d.picking() || d.aim.Active {
			s.Marks = append(s.Marks, d.hover.Marks(*s, draft.InkHover)...)
		}
	}
	if d.joint != "" || len(d.live.Answers) == 0 {
		return
	}
	motion := kinematics.Identity()
	if at := d.session.Doc.PartIndex(d.live.Joint.Child); at >= 0 {
		motion = s.Parts[at].MotionOrIdentity()
	}
	size := d.size()
	if datum, ok := d.live.Datum(); ok {
		ink := draft.InkSelected
		if d.live.Hover {
			ink = draft.InkHover
		}
		s.Marks = append(s.Marks, drawing.Datum(datum, motion, size, ink)...)
		s.Marks = append(s.Marks, draft.Label{
			At:   motion.Apply(r3.Add(datum.Origin, r3.Scale((datum.Extent[0]+datum.Extent[1])/2, datum.Axis))),
			Text: d.datumText(), Ink: draft.InkMain, Leader: true,
		})
	}
	if len(d.live.Answers) > 1 { // where each answer has its centre
		for _, a := range d.live.Answers {
			if a.Err == nil {
				s.Marks = append(s.Marks, draft.Point{At: motion.Apply(a.Datum.Origin), Shape: draft.CrossSign, Ink: draft.InkMain})
			}
		}
	}
}

// datumText sums the live datum up in one line.
func (d *Desk) datumText() string {
	datum, ok := d.live.Datum()
	if !ok {
		return ""
	}
	unit := d.session.Model.Unit
	text := string(datum.Kind)
	if datum.Radius > 0 {
		text += "  R " + figures.Length(datum.Radius, unit)
	}
	if !math.IsNaN(datum.RMS) && datum.Count > 2 {
		text += "  RMS " + figures.Length(datum.RMS, unit)
	}
	return text
}

// size is the model's diagonal.
func (d *Desk) size() float64 {
	b := d.session.Model.Bounds()
	return r3.Norm(r3.Sub(b.Max, b.Min))
}
