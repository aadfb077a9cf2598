package desk

import (
	"context"
	"fmt"
	"slices"

	"pintle/app/doc"
	"pintle/app/drawing"
	"pintle/fit/find"
)

// sureEnough is the confidence above which joints are accepted together unless
// the user says another one.
const sureEnough = 0.9

// review is the looking through of proposed joints.
type review struct {
	found    doc.Proposals
	open     bool // the user is at it
	at       int  // the proposal looked at
	choice   map[int]int
	rejected map[int]bool
	values   []float64 // where the one looked at is swung to in each freedom
	bySure   bool      // surest first, else from the ground outward
	least    float64
	trials   *trials
}

// Review is the looking through of proposed joints, as it is to be shown.
type Review struct {
	Rows     []ReviewRow // in the order they are stepped through
	At       int         // index into Rows
	Ground   string      // the part that stands still, "" for none
	BySure   bool        // surest first, else from the ground outward
	Least    float64     // confidence above which all are accepted together
	Above    int         // how many that would be
	Left     int         // how many are undecided
	Fixed    []find.Fixed
	Findings []doc.Finding
}

// ReviewRow is one proposal with what was decided about it.
type ReviewRow struct {
	doc.Proposal
	doc.Reading
	Number   int // its balloon
	Choice   int // the reading of it that is looked at
	Rejected bool
}

// Title is what the row is called: by the joint that the document has there.
func (r ReviewRow) Title() string {
	if r.Joint != "" && r.Standing != doc.Differs {
		return r.Joint
	}
	return r.Name
}

// Open reports whether the row is still to be decided.
func (r ReviewRow) Open() bool { return r.Standing == doc.Undecided && !r.Rejected }

// Current returns the row that is looked at.
func (r Review) Current() (ReviewRow, bool) {
	if r.At < 0 || r.At >= len(r.Rows) {
		return ReviewRow{}, false
	}
	return r.Rows[r.At], true
}

// Review returns what there is to look through.
func (d *Desk) Review() Review {
	if !d.CanResume() {
		return Review{At: -1}
	}
	r := d.review
	out := Review{At: -1, BySure: r.bySure, Least: r.least, Fixed: r.found.Fixed, Findings: r.found.Findings}
	if r.found.Ground >= 0 {
		out.Ground = d.session.Parts[r.found.Ground].Name
	}
	for _, i := range d.order() {
		if i == r.at {
			out.At = len(out.Rows)
		}
		row := d.row(i)
		if row.Open() {
			out.Left++
			if row.Confidence >= r.least {
				out.Above++
			}
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// Looking returns the row that is looked at; false outside a review.
func (d *Desk) Looking() (ReviewRow, bool) {
	if !d.Reviewing() {
		return ReviewRow{}, false
	}
	return d.row(d.review.at), true
}

func (d *Desk) row(i int) ReviewRow {
	p := d.review.found.List[i]
	return ReviewRow{
		Proposal: p, Reading: d.session.Read(p), Number: i + 1,
		Choice: d.review.choice[i], Rejected: d.review.rejected[i],
	}
}

// order returns the proposals in the order they are stepped through.
func (d *Desk) order() []int {
	out := make([]int, len(d.review.found.List))
	for i := range out {
		out[i] = i
	}
	if d.review.bySure {
		slices.SortStableFunc(out, func(a, b int) int {
			switch x, y := d.review.found.List[a].Confidence, d.review.found.List[b].Confidence; {
			case x > y:
				return -1
			case x < y:
				return 1
			}
			return 0
		})
	}
	return out
}

// SetBySure orders the proposals by confidence, or from the ground outward.
func (d *Desk) SetBySure(on bool) {
	if d.review != nil {
		d.review.bySure = on
		d.changed()
	}
}

// SetLeast says from which confidence on all are accepted together.
func (d *Desk) SetLeast(v float64) {
	if d.review != nil && v >= 0 && v <= 1 {
		d.review.least = v
		d.changed()
	}
}

// SetGround says which part stands still.
func (d *Desk) SetGround(part string) {
	if !d.CanResume() {
		return
	}
	found, err := d.session.Reground(context.Background(), d.review.found, part)
	if err != nil {
		d.problem(fmt.Errorf("the ground: %w", err))
		return
	}
	d.takeFound(found)
}

// LookAt goes to a proposal by its balloon number.
func (d *Desk) LookAt(number int) {
	if !d.Reviewing() || number < 1 || number > len(d.review.found.List) {
		return
	}
	d.review.at = number - 1
	d.looked()
}

// LookOn goes by so many places to another proposal, round at the ends.
func (d *Desk) LookOn(by int) {
	if !d.Reviewing() {
		return
	}
	order := d.order()
	k := slices.Index(order, d.review.at)
	d.review.at = order[((k+by)%len(order)+len(order))%len(order)]
	d.looked()
}

// Choose takes another reading of the proposal that is looked at.
func (d *Desk) Choose(choice int) {
	if !d.Reviewing() || choice < 0 || choice >= len(d.review.found.List[d.review.at].Choices) {
		return
	}
	d.review.choice[d.review.at] = choice
	d.looked()
}

// ChooseOn takes the next reading, or with -1 the one before, round at the ends.
func (d *Desk) ChooseOn(by int) {
	if d.Reviewing() {
		n := len(d.review.found.List[d.review.at].Choices)
		d.Choose(((d.review.choice[d.review.at]+by)%n + n) % n)
	}
}

// looked tells the window that something else is looked at.
func (d *Desk) looked() {
	d.review.values = nil
	d.review.trials.follow(d)
	d.changed()
	if d.OnLook != nil {
		d.OnLook()
	}
}

// nextOpen goes to the next undecided proposal, round at the end; false where
// there is none.
func (d *Desk) nextOpen() bool {
	order := d.order()
	k := slices.Index(order, d.review.at)
	for n := range order {
		if i := order[(k+1+n)%len(order)]; d.row(i).Open() {
			d.review.at = i
			return true
		}
	}
	return false
}

// AcceptFound makes the joint of the proposal that is looked at and goes on to
// the next.
func (d *Desk) AcceptFound() {
	if !d.Reviewing() {
		return
	}
	r := d.review
	row := d.row(r.at)
	if row.Standing != doc.Undecided {
		d.LookOn(1)
		return
	}
	delete(r.rejected, r.at)
	if d.do("accept "+row.Name, func(s *doc.Session) (doc.Document, error) {
		return s.Accept(r.found, row.Proposal, row.Choice)
	}) {
		d.goOn()
	}
}

// RejectFound leaves the proposal that is looked at out, or takes that back.
func (d *Desk) RejectFound() {
	if !d.Reviewing() || d.row(d.review.at).Standing != doc.Undecided {
		return
	}
	if r := d.review; r.rejected[r.at] {
		delete(r.rejected, r.at)
		d.changed()
		return
	}
	d.review.rejected[d.review.at] = true
	d.goOn()
}

// AcceptAbove makes the joints of all undecided proposals of the least
// confidence or more, as one step of undo.
func (d *Desk) AcceptAbove() {
	if !d.Reviewing() {
		return
	}
	r := d.review
	if d.do("accept all above "+fmt.Sprintf("%.2f", r.least), func(s *doc.Session) (doc.Document, error) {
		next, _, err := s.AcceptAbove(r.found, r.least, func(i int) int {
			if r.rejected[i] {
				return -1
			}
			return r.choice[i]
		})
		return next, err
	}) {
		d.goOn()
	}
}

// goOn looks at the next undecided proposal, or leaves the review with the
// first joint selected where all are decided.
func (d *Desk) goOn() {
	if d.nextOpen() {
		d.looked()
		return
	}
	d.EndReview()
	if len(d.session.Doc.Joints) > 0 {
		d.SelectJoint(d.session.Doc.Joints[0].Name)
	}
}

// FoundValue returns where the proposal looked at is swung to in its first
// freedom: radians, or model units where it slides.
func (d *Desk) FoundValue() float64 {
	if d.review == nil || len(d.review.values) == 0 {
		return 0
	}
	return d.review.values[0]
}

// SwingFound swings the proposal looked at by values of its freedoms; those not
// given are zero.
func (d *Desk) SwingFound(values ...float64) {
	n := len(values)
	for n > 0 && values[n-1] == 0 {
		n--
	}
	if d.Reviewing() && !slices.Equal(d.review.values, values[:n]) {
		d.review.values = slices.Clone(values[:n])
		d.swings++
		d.moved()
	}
}

// FoundSwing returns how far the proposal looked at swings either way in each
// freedom to be seen; false outside a review.
func (d *Desk) FoundSwing() ([]float64, bool) {
	c, ok := d.FoundChoice()
	if !ok {
		return nil, false
	}
	return d.session.Swing(d.review.found.List[d.review.at], c), true
}

// FoundChoice returns the reading that is looked at.
func (d *Desk) FoundChoice() (doc.Choice, bool) {
	if !d.Reviewing() {
		return doc.Choice{}, false
	}
	r := d.review
	return r.found.List[r.at].Choices[r.choice[r.at]], true
}

// drawnReview returns what of the review is drawn, nil outside one.
func (d *Desk) drawnReview() *drawing.Found {
	swing, ok := d.FoundSwing()
	if !ok {
		return nil
	}
	r := d.review
	f := &drawing.Found{
		List: r.found.List, At: r.at, Choice: r.choice[r.at], Values: r.values, Swing: swing,
		Out: make([]bool, len(r.found.List)),
	}
	for i := range f.Out {
		f.Out[i] = r.rejected[i]
	}
	return f
}

// lookAtPart goes to the proposal that carries a part.
func (d *Desk) lookAtPart(part int) {
	for i, p := range d.review.found.List {
		if p.Child == part && !p.Loop {
			d.LookAt(i + 1)
			return
		}
	}
}
