package ui

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/ui/desk"
	"pintle/app/ui/figures"
	"pintle/app/ui/outline"
	"pintle/app/ui/paper"
	"pintle/app/ui/sheet"
	"pintle/app/ui/strip"
	"pintle/app/ui/style"
	"pintle/kinematics/contact"
)

// foundKey begins the keys of proposals in the outline.
const foundKey = "found:"

// reviewGroups lists the proposals, and below them what else was found.
func reviewGroups(d *desk.Desk) []outline.Group {
	r := d.Review()
	s := d.Session()
	title := "Proposed joints, from the ground"
	if r.BySure {
		title = "Proposed joints, surest first"
	}
	open := outline.Group{Title: title}
	loops := outline.Group{Title: "Closing a loop"}
	for i, row := range r.Rows {
		e := outline.Entry{Key: foundKey + strconv.Itoa(row.Number), Item: foundItem(row, i == r.At)}
		if r.BySure || row.Loop {
			e.Depth = 0
		}
		if row.Loop {
			loops.Entries = append(loops.Entries, e)
		} else {
			open.Entries = append(open.Entries, e)
		}
	}
	groups := []outline.Group{open}
	if len(loops.Entries) > 0 {
		groups = append(groups, loops)
	}
	if len(r.Fixed) > 0 {
		fixed := outline.Group{Title: "Fixed, riding along"}
		for _, f := range r.Fixed {
			fixed.Entries = append(fixed.Entries, outline.Entry{Key: partKey + s.Parts[f.Part].Name, Item: paper.Item{
				Text: s.Parts[f.Part].Name, Note: "on " + s.Parts[f.To].Name, Faint: true,
			}})
		}
		groups = append(groups, fixed)
	}
	return groups
}

func foundItem(row desk.ReviewRow, at bool) paper.Item {
	it := paper.Item{
		Text: row.Title(), Depth: row.Depth, Balloon: row.Number, Selected: at,
		Note: figures.Share(row.Confidence), NoteTone: sheet.SureTone(row.Confidence), Level: row.Confidence,
	}
	word := ""
	switch {
	case row.Standing == doc.InPlace:
		word, it.NoteTone = "accepted", style.Good
	case row.Standing == doc.Agrees:
		word, it.NoteTone = "as yours", style.Good
	case row.Standing == doc.Differs:
		word, it.NoteTone = "not as yours", style.Check
	case row.Rejected:
		word, it.NoteTone, it.Faint = "rejected", style.Faded, true
	}
	if word != "" {
		it.Note, it.Level = word, 0
	}
	return it
}

// reviewNext words the head's primary button during a review.
func reviewNext(d *desk.Desk) string {
	r := d.Review()
	row, ok := r.Current()
	switch {
	case ok && row.Open():
		return "Accept joint"
	case r.Left > 0:
		return "Next proposal"
	}
	return "On to motion"
}

// nextInReview does it.
func (s *Shell) nextInReview() {
	r := s.desk.Review()
	row, ok := r.Current()
	switch {
	case ok && row.Open():
		s.desk.AcceptFound()
	case r.Left > 0:
		s.desk.LookOn(1)
	default:
		s.desk.EndReview()
		s.desk.SetStep(desk.StepMotion)
	}
}

// reviewStrip lets the proposal be swung by hand.
func reviewStrip(d *desk.Desk) (strip.View, bool) {
	c, ok := d.FoundChoice()
	row, _ := d.Looking()
	if !ok {
		return strip.View{}, false
	}
	s := d.Session()
	v := strip.View{Title: "Swing of " + strconv.Itoa(row.Number) + "  " + row.Title(), Value: d.FoundValue() * 180 / math.Pi}
	if !c.Kind.Turns() {
		v.Slider, v.Unit, v.Value = true, string(s.Model.Unit), d.FoundValue()
		if reach, _ := d.FoundSwing(); len(reach) > 0 {
			v.Limits = &[2]float64{-2 * reach[0], 2 * reach[0]}
		}
	}
	if t, ok := d.FoundTrial(); ok && t.Words != "" {
		flagTrial(&v, t)
	}
	return v, true
}

// flagTrial marks on the ruler where the trial was stopped.
func flagTrial(v *strip.View, t desk.Trial) {
	scale := 1.0
	if t.Freedom.Turns {
		scale = 180 / math.Pi
	}
	v.Limits = nil
	v.Searched = &[2]float64{scale * t.Searched.Lower, scale * t.Searched.Upper}
	for _, end := range []struct {
		to    **float64
		event *contact.Event
	}{{&v.Lower, t.Free.Lower}, {&v.Upper, t.Free.Upper}} {
		if end.event != nil {
			at := scale * end.event.Value
			*end.to = &at
		}
	}
}

// swingTime is how long a swing to and fro takes in one freedom.
const swingTime = 2400 * time.Millisecond

// look shows the proposal that the review has come to: the view closes in on
// its two parts, and the child swings a little both ways and comes to rest
// where it was.
func (s *Shell) look() {
	s.stopSwing()
	s.strip.Stop()
	reach, ok := s.desk.FoundSwing()
	if !ok {
		return
	}
	s.opts.Do(s.closeIn) // once the strip is there, and the drawing as small as it will be
	n := max(len(reach), 1)
	s.swing = fyne.NewAnimation(time.Duration(n)*swingTime, func(t float32) { s.desk.SwingFound(swung(reach, float64(t))...) })
	s.swing.Curve = fyne.AnimationLinear
	s.swing.Start()
}

// followReview shows the whole model again when a review ends.
func (s *Shell) followReview() {
	on := s.desk.Reviewing()
	if s.review && !on {
		s.stopSwing()
		if s.desk.Session() != nil {
			s.view.Fit()
		}
	}
	s.review = on
}

// swung returns the values of a swing through one freedom after the other, t from
// 0 to 1 over all.
func swung(reach []float64, t float64) []float64 {
	out := make([]float64, len(reach))
	for i := range reach {
		out[i] = reach[i] * swingAt(t*float64(len(reach))-float64(i))
	}
	return out
}

// swingAt is the course of a swing over its time: at rest while the view still
// moves, then to either side with a soft start and end, exactly 0 at both.
func swingAt(t float64) float64 {
	const wait, top = 0.15, 0.7698 // top is the most of sin 2x sin x
	t = (t - wait) / (1 - wait)
	if t <= 0 || t >= 1 {
		return 0
	}
	return math.Sin(2*math.Pi*t) * math.Sin(math.Pi*t) / top
}

// stopSwing ends a swing where it is.
func (s *Shell) stopSwing() {
	if s.swing != nil {
		s.swing.Stop()
		s.swing = nil
	}
}

// pairMargin is the room round the two parts of a proposal, as a share of the
// picture.
const pairMargin = 0.12

// closeIn moves the view, without turning it, to the two parts of the proposal
// looked at.
func (s *Shell) closeIn() {
	row, ok := s.desk.Looking()
	if !ok {
		return
	}
	const most = 2000 // vertices of a part that are looked at
	var points []r3.Vec
	for _, i := range []int{row.Parent, row.Child} {
		v := s.desk.Session().Parts[i].Mesh.Vertices()
		for k := 0; k < len(v); k += 1 + len(v)/most {
			points = append(points, v[k])
		}
	}
	v := s.view.View()
	s.view.Go(s.view.Camera().Fit(points, float64(v.Width)/float64(max(v.Height, 1)), pairMargin))
}

// swungByHand takes a value of the ruler during a review.
func (s *Shell) swungByHand(v float64) {
	s.stopSwing()
	if c, ok := s.desk.FoundChoice(); ok && c.Kind.Turns() {
		v *= math.Pi / 180
	}
	s.desk.SwingFound(v)
}

// acceptAbove accepts all that are sure enough and says what was done.
func (s *Shell) acceptAbove() {
	if !s.desk.Reviewing() {
		return
	}
	before := len(s.desk.Session().Doc.Joints)
	s.desk.AcceptAbove()
	if n := len(s.desk.Session().Doc.Joints) - before; n > 0 {
		s.message.show(fmt.Sprintf("%s accepted in one step; Undo takes all of it back.", figures.Plural(n, "joint", "joints")), false)
	}
}

// takeReviewKey does the review's keys.
func (s *Shell) takeReviewKey(e *fyne.KeyEvent) bool {
	if !s.desk.Reviewing() {
		return false
	}
	switch e.Name {
	case fyne.KeyReturn, fyne.KeyEnter:
		s.desk.AcceptFound()
	case fyne.KeyDelete:
		s.desk.RejectFound()
	case fyne.KeyDown:
		s.desk.LookOn(1)
	case fyne.KeyUp:
		s.desk.LookOn(-1)
	case fyne.KeyRight:
		s.desk.ChooseOn(1)
	case fyne.KeyLeft:
		s.desk.ChooseOn(-1)
	case fyne.KeyHome:
		s.look()
	default:
		return false
	}
	return true
}

// chooseFound goes to the proposal that a line of the outline stands for.
func (s *Shell) chooseFound(key string) bool {
	text, ok := strings.CutPrefix(key, foundKey)
	if !ok {
		return false
	}
	if n, err := strconv.Atoi(text); err == nil {
		s.desk.LookAt(n)
	}
	return true
}
