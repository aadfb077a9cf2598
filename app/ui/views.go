package ui

import (
	"fmt"
	"math"
	"strconv"

	"pintle/app/doc"
	"pintle/app/ui/desk"
	"pintle/app/ui/figures"
	"pintle/app/ui/head"
	"pintle/app/ui/outline"
	"pintle/app/ui/paper"
	"pintle/app/ui/sheet"
	"pintle/app/ui/strip"
	"pintle/app/ui/toolbar"
	"pintle/kinematics"
)

// headView words what is open and what to do next.
func headView(d *desk.Desk) head.View {
	v := head.View{Step: int(d.Step()), File: d.Title()}
	if d.Dirty() {
		v.File += " •"
	}
	_, v.CanUndo = d.CanUndo()
	_, v.CanRedo = d.CanRedo()
	s := d.Session()
	if s == nil {
		return v
	}
	v.State = stateLine(d, s)
	switch d.Step() {
	case desk.StepModel:
		v.Next = "On to joints"
		if len(s.Doc.Joints) == 0 {
			v.Next = "Find joints"
		}
	case desk.StepJoints:
		switch {
		case d.Reviewing():
			v.Next = reviewNext(d)
		case len(d.Picks()) > 0:
			v.Next, v.NextOff = "Make hinge", d.Live().Err != nil
			if d.Live().Joint.Kind == kinematics.Spherical {
				v.Next = "Make ball joint"
			}
		case len(s.Doc.Joints) > 0:
			v.Next = "On to motion"
		default:
			v.Next = "Find joints"
		}
	case desk.StepMotion:
		v.Next, v.NextOff = "On to handover", len(s.Doc.Joints) == 0
	case desk.StepHandover:
		v.Next, v.NextOff = "Write joint spec", len(s.Doc.Joints) == 0
	}
	return v
}

func stateLine(d *desk.Desk, s *doc.Session) string {
	n := len(s.Doc.Joints)
	if n == 0 {
		return figures.Plural(len(s.Parts), "part", "parts") + ", no joints yet"
	}
	good, check, open := 0, 0, 0
	for _, j := range s.Doc.Joints {
		switch d.State(j) {
		case desk.True, desk.Accepted, desk.Held:
			good++
		case desk.ToCheck, desk.Stopped:
			check++
		default:
			open++
		}
	}
	return fmt.Sprintf("%s: %d true, %d to check, %d open", figures.Plural(n, "joint", "joints"), good, check, open)
}

// Keys of outline entries.
const (
	partKey  = "part:"
	jointKey = "joint:"
)

// outlineGroups lists parts at the Model step and the mechanism's tree later.
func outlineGroups(d *desk.Desk) []outline.Group {
	s := d.Session()
	if s == nil {
		return nil
	}
	if d.Step() == desk.StepModel {
		return []outline.Group{{Title: "Parts", Entries: partEntries(d, s)}}
	}
	if d.Reviewing() {
		return reviewGroups(d)
	}
	t := treeLister{d: d, s: s, number: map[string]int{}}
	for i, j := range s.Doc.Joints {
		t.number[j.Name] = i + 1
	}
	t.riders = s.Riders()
	groups := []outline.Group{{Title: "Mechanism", Entries: t.tree(), Hint: "No joints yet. Find them, or pick a housing in the drawing."}}
	if loose := t.loose(); len(loose) > 0 {
		groups = append(groups, outline.Group{Title: "Parts without a joint", Entries: loose})
	}
	return groups
}

func partEntries(d *desk.Desk, s *doc.Session) []outline.Entry {
	var out []outline.Entry
	for i, p := range s.Parts {
		e := outline.Entry{Key: partKey + p.Name, Item: paper.Item{
			Text: p.Name, Note: figures.Count(len(p.Mesh.Triangles())), Selected: i == d.Part(), Faint: s.Doc.Parts[i].Hidden,
		}}
		if e.Faint {
			e.Note = "hidden"
		}
		out = append(out, e)
	}
	return out
}

// treeLister walks the mechanism from its grounds outward.
type treeLister struct {
	d      *desk.Desk
	s      *doc.Session
	number map[string]int
	riders []int
	out    []outline.Entry
}

func (t *treeLister) tree() []outline.Entry {
	if len(t.s.Doc.Joints) == 0 {
		return nil
	}
	for _, j := range t.s.Doc.Joints {
		if j.Parent == "" {
			t.joint(j, 0)
		}
	}
	for i, p := range t.s.Parts {
		if t.s.Doc.JointOf(p.Name) < 0 && t.carries(p.Name) {
			t.out = append(t.out, outline.Entry{Key: partKey + p.Name, Item: paper.Item{
				Text: p.Name, Note: "ground", Selected: i == t.d.Part(),
			}})
			t.below(p.Name, 1)
		}
	}
	return t.out
}

func (t *treeLister) carries(part string) bool {
	for _, j := range t.s.Doc.Joints {
		if j.Parent == part {
			return true
		}
	}
	return false
}

func (t *treeLister) below(part string, depth int) {
	at := t.s.Doc.PartIndex(part)
	for i, host := range t.riders {
		if host == at {
			t.out = append(t.out, outline.Entry{Key: partKey + t.s.Parts[i].Name, Item: paper.Item{
				Text: t.s.Parts[i].Name, Note: "rides along", Depth: depth, Selected: i == t.d.Part(), Faint: true,
			}})
			t.below(t.s.Parts[i].Name, depth+1)
		}
	}
	for _, j := range t.s.Doc.Joints {
		if j.Parent == part {
			t.joint(j, depth)
		}
	}
}

func (t *treeLister) joint(j doc.Joint, depth int) {
	selected, _, ok := t.d.Joint()
	note, tone := sheet.StateText(t.d.State(j))
	t.out = append(t.out, outline.Entry{Key: jointKey + j.Name, Item: paper.Item{
		Text: j.Name, Note: note, NoteTone: tone, Depth: depth,
		Balloon: t.number[j.Name], Selected: ok && selected.Name == j.Name,
	}})
	if !j.Closes {
		t.below(j.Child, depth+1)
	}
}

func (t *treeLister) loose() []outline.Entry {
	var out []outline.Entry
	for i, p := range t.s.Parts {
		if t.s.Doc.JointOf(p.Name) < 0 && !t.carries(p.Name) && t.riders[i] < 0 {
			out = append(out, outline.Entry{Key: partKey + p.Name, Item: paper.Item{
				Text: p.Name, Selected: i == t.d.Part(), Faint: t.s.Doc.Parts[i].Hidden,
			}})
		}
	}
	return out
}

func toolbarView(d *desk.Desk) toolbar.View {
	shows := d.Shows()
	_, _, ok := d.Joint()
	return toolbar.View{CanFind: d.Session() != nil && d.Task() == nil, Mode: d.Mode(), Wire: shows.Wire, SeeThrough: shows.SeeThrough, Isolated: shows.Isolate, CanIsolate: ok}
}

// stripView shows the selected joint's motion; false where there is none.
func stripView(d *desk.Desk) (strip.View, bool) {
	if d.Reviewing() {
		return reviewStrip(d)
	}
	j, number, ok := d.Joint()
	if !ok || j.Kind == kinematics.Fixed {
		return strip.View{}, false
	}
	v := strip.View{Title: "Motion of " + strconv.Itoa(number) + "  " + j.Name}
	if c, ok := d.Follows(d.Freedom()); ok {
		v.Title += ", follows " + c.Driver.Joint
	}
	if list := j.Kind.FreedomList(); len(list) > 1 {
		v.Freedom = d.Freedom()
		for _, f := range list {
			v.Freedoms = append(v.Freedoms, f.String())
		}
	}
	v.Note = leanText(j.Kind, d.Values(j.Name))
	v.Slider = !j.Kind.Freedom(d.Freedom()).Turns
	v.Unit = string(d.Session().Model.Unit)
	scale := 180 / math.Pi
	if v.Slider {
		scale = 1
	}
	v.Value = d.Value(j.Name) * scale
	if r, ok := d.Limit(d.Freedom()); ok && !math.IsInf(r.Span(), 0) {
		v.Limits = &[2]float64{r.Lower * scale, r.Upper * scale}
	}
	if r, ok := d.LoopReach(); ok && !math.IsInf(r.Range.Lower, 0) && !math.IsInf(r.Range.Upper, 0) {
		v.Limits = &[2]float64{r.Range.Lower * scale, r.Range.Upper * scale}
		v.Title += ", as far as its loop goes"
	}
	if i := d.Session().Doc.PartIndex(j.Child); i >= 0 {
		v.Far = d.Session().Parts[i].Mesh.Diagonal()
	}
	proof := d.Proof(j.Name)
	m, asModelled := d.Standing()
	if a := proof.Alone; a != nil {
		r := a.Range(d.Freedom())
		v.Lower, v.Upper = flag(r.Lower*scale), flag(r.Upper*scale)
		return v, true
	}
	if m == nil {
		if proof.Busy {
			v.Title += fmt.Sprintf(", measuring %.0f %%", 100*proof.Done)
		}
		return v, true
	}
	if e := m.Free.Lower; e != nil {
		x := e.Value * scale
		v.Lower = &x
	}
	if e := m.Free.Upper; e != nil {
		x := e.Value * scale
		v.Upper = &x
	}
	if !asModelled {
		v.Title += ", the others as they stand"
	}
	v.Curves = []strip.Curve{clearanceCurve(m, v.Unit, scale)}
	if p, ok := d.Near(); ok {
		v.Curves[0].Here = &[2]float64{v.Value, p.Distance}
	}
	if proof.Motion != nil && len(proof.Motion.Runout) > 0 {
		v.Curves = append(v.Curves, runoutCurve(proof.Motion, v.Unit))
	}
	return v, true
}

// flag returns where a contact is marked on the ruler, nil for none.
func flag(v float64) *float64 {
	if math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// leanText says how far a joint that leans does, and what a universal joint makes
// of even turning there.
func leanText(k kinematics.Kind, values []float64) string {
	switch k {
	case kinematics.Spherical:
		_, polar := k.Lean(values[0], values[1])
		return "leans " + figures.Degrees(polar, 1)
	case kinematics.Universal:
		c, in := kinematics.CardanOf(values[0], values[1])
		text := "shafts bent by " + figures.Degrees(c.Bend, 1)
		if c.Check() == nil {
			text += ": the output turns at " + figures.Fixed(c.Ratio(math.Pi/2), 3) + " to " + figures.Fixed(c.Ratio(0), 3) +
				" of the input, here at " + figures.Fixed(c.Ratio(in), 3)
		}
		return text
	}
	return ""
}

func clearanceCurve(m *doc.Motion, unit string, scale float64) strip.Curve {
	c := strip.Curve{Name: "clearance", Unit: unit}
	if m.Curve == nil {
		return c
	}
	for _, p := range m.Curve.Samples {
		c.At = append(c.At, p.Value*scale)
		d := p.Distance
		if math.IsInf(d, 1) { // nothing there that could limit the range
			d = math.NaN()
		}
		c.Value = append(c.Value, d)
	}
	if least, ok := m.Narrowest(); ok {
		c.Least = &[2]float64{least.Value * scale, least.Distance}
	}
	return c
}

// runoutCurve is what a fixed indicator on the worst section of the housing
// would read while the joint turns, from its lowest reading.
func runoutCurve(m *doc.Motion, unit string) strip.Curve {
	c := strip.Curve{Name: "runout", Unit: unit}
	profile := worstProfile(m)
	if len(profile) < 3 {
		return c
	}
	low := math.Inf(1)
	for _, p := range profile {
		low = min(low, p.Value)
	}
	for _, a := range doc.CurveAngles(m.Shown(), 181) {
		c.At = append(c.At, kinematics.Degrees(a))
		c.Value = append(c.Value, reading(profile, -a)-low)
	}
	return c
}

func worstProfile(m *doc.Motion) []kinematics.ProfilePoint {
	var worst []kinematics.ProfilePoint
	most := math.Inf(-1)
	for _, r := range m.Runout {
		for _, s := range r.Surfaces {
			if s.Direction == kinematics.Radial && s.Worst >= 0 && s.Circular > most && s.Stations[s.Worst].Arc > 1.9*math.Pi {
				most, worst = s.Circular, s.Stations[s.Worst].Profile
			}
		}
	}
	return worst
}

// reading interpolates a closed profile at an angle.
func reading(profile []kinematics.ProfilePoint, angle float64) float64 {
	a := math.Mod(angle, 2*math.Pi)
	if a < 0 {
		a += 2 * math.Pi
	}
	n := len(profile)
	for i, p := range profile {
		q := profile[(i+1)%n]
		from, to := p.Angle, q.Angle
		x := a
		if i == n-1 { // across zero
			to += 2 * math.Pi
			if x < from {
				x += 2 * math.Pi
			}
		}
		if x >= from && x <= to && to > from {
			t := (x - from) / (to - from)
			return p.Value + t*(q.Value-p.Value)
		}
	}
	return profile[0].Value
}
