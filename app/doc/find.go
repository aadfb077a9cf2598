package doc

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/job"
	"pintle/fit"
	"pintle/fit/find"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// Proposals are the joints that the geometry of a session's parts speaks for.
// They hold for the parts as they were: see Fits.
type Proposals struct {
	Ground   int        // number of the part that stands still, -1 for none
	List     []Proposal // from the ground outward, each before what hangs on it; loops last
	Fixed    []find.Fixed
	Findings []Finding // pairs of parts that show nothing

	meshes []*mesh.Mesh
	res    find.Result
}

// Proposal is one joint that could be made.
type Proposal struct {
	Parent, Child int // numbers of parts
	Name          string
	Depth         int     // joints between the child and its ground, this one not counted
	Confidence    float64 // 0 to 1
	Loop          bool    // closes a loop: the others make a tree without it
	InLoop        bool    // is part of a loop that another one closes
	Choices       []Choice
	Moves         []int // numbers of the parts that move with the child, itself among them, rising
}

// Choice is one reading of a proposed joint: the best one, or a runner-up.
type Choice struct {
	Found    find.Kind // the finder's word
	Kind     kinematics.Kind
	Pitch    float64 // of a screw: model units of travel per radian
	Score    float64
	Evidence find.Evidence
	// Picks are the round faces or rims that lie about the axis, with the recipe
	// and the datum that they give; none where no such geometry can be picked.
	Picks  []Pick
	Recipe DatumRecipe
	Datum  fit.Datum
	Spec   kinematics.FrameSpec
	Frame  kinematics.Frame
}

// Find proposes joints for the session's parts. Hinges of a limb that are about
// parallel have the same sense. Reach points at the proposed joints that the
// child would carry. The ground is the part whose name says so, else the finder's.
// It fails where there are too many parts and when ctx is done.
func (s *Session) Find(ctx context.Context, o find.Options, progress job.Progress) (Proposals, error) {
	o.Progress = job.Stage(progress, 0, 0.9)
	res, err := find.Joints(ctx, s.Parts, o)
	if err != nil {
		return Proposals{}, err
	}
	if at, ok := s.NamedGround(); ok && slices.ContainsFunc(res.Joints, func(c find.Candidate) bool { return c.Parent == at || c.Child == at }) {
		res = hungFrom(res, at)
	}
	return s.proposals(ctx, res, job.Stage(progress, 0.9, 1))
}

// Reground returns the proposals with another part as the ground: joints
// between it and the old one have their parts change places. It fails where
// there is no such part and when ctx is done.
func (s *Session) Reground(ctx context.Context, p Proposals, ground string) (Proposals, error) {
	at, err := s.Doc.mustPart(ground)
	if err != nil {
		return p, err
	}
	return s.proposals(ctx, hungFrom(p.res, at), nil)
}

// hungFrom returns what was found with every joint of the tree leading away from
// a part.
func hungFrom(res find.Result, ground int) find.Result {
	res.Ground = ground
	res.Joints = slices.Clone(res.Joints)
	for queue, seen := []int{ground}, map[int]bool{}; len(queue) > 0; queue = queue[1:] {
		for i := range res.Joints {
			c := &res.Joints[i]
			if c.Loop || seen[i] || c.Parent != queue[0] && c.Child != queue[0] {
				continue
			}
			seen[i] = true
			if c.Child == queue[0] {
				*c = turnedRound(*c)
			}
			queue = append(queue, c.Child)
		}
	}
	return res
}

// turnedRound lets parent and child change places.
func turnedRound(c find.Candidate) find.Candidate {
	c.Parent, c.Child = c.Child, c.Parent
	c.Evidence.InParent, c.Evidence.InChild = c.Evidence.InChild, c.Evidence.InParent
	c.RunnersUp = slices.Clone(c.RunnersUp)
	for i := range c.RunnersUp {
		e := &c.RunnersUp[i].Evidence
		e.InParent, e.InChild = e.InChild, e.InParent
	}
	return c
}

// proposals turns what was found into joints that could be made.
func (s *Session) proposals(ctx context.Context, res find.Result, progress job.Progress) (Proposals, error) {
	p := Proposals{Ground: res.Ground, Fixed: res.Fixed, Findings: s.nothingFound(res), res: res}
	for _, part := range s.Parts {
		p.meshes = append(p.meshes, part.Mesh)
	}
	f := proposer{session: s, res: res, names: find.Names(s.Parts, res, s.Model.Up)}
	f.hangOn()
	for n, i := range f.order() {
		if err := ctx.Err(); err != nil {
			return Proposals{}, err
		}
		tell(progress, float64(n)/float64(len(res.Joints)), "Looking for what can be picked")
		p.List = append(p.List, f.propose(i, p.List))
	}
	f.markLoops(p.List)
	f.aim(p.List)
	return p, nil
}

// Fits reports whether the proposals still hold for the session's parts: that
// they are made of the same pieces in the same order.
func (p Proposals) Fits(s *Session) bool {
	return slices.EqualFunc(p.meshes, s.Parts, func(m *mesh.Mesh, part mesh.Part) bool { return m == part.Mesh })
}

// nothingFound turns what the finder reports into findings.
func (s *Session) nothingFound(res find.Result) []Finding {
	var out []Finding
	for _, f := range res.Findings {
		parts := []string{s.Parts[f.A].Name}
		if f.B >= 0 {
			parts = append(parts, s.Parts[f.B].Name)
		}
		out = append(out, Finding{Severity: Check, Kind: NothingFound, Text: f.Text, Parts: parts, Value: math.NaN(), Limit: math.NaN()})
	}
	return out
}

// proposer turns candidates into proposals.
type proposer struct {
	session *Session
	res     find.Result
	names   []string
	on      []int // part: the one that it hangs on, -1 for none
	by      []int // part: the candidate that carries it, -1 for none
}

// hangOn notes what every part hangs on: by the user's own joints first, then
// by the candidates, then by what it is fixed to.
func (f *proposer) hangOn() {
	s := f.session
	f.on, f.by = make([]int, len(s.Parts)), make([]int, len(s.Parts))
	for i := range f.on {
		f.on[i], f.by[i] = -1, -1
	}
	for i, c := range f.res.Joints {
		if !c.Loop {
			f.on[c.Child], f.by[c.Child] = c.Parent, i
		}
	}
	for _, x := range f.res.Fixed {
		if f.on[x.Part] < 0 {
			f.on[x.Part] = x.To
		}
	}
	for _, j := range s.Doc.Joints {
		child := s.Doc.PartIndex(j.Child)
		f.on[child] = s.Doc.PartIndex(j.Parent)
	}
}

// moves returns the parts that hang on a part, itself among them.
func (f *proposer) moves(part int) []int {
	var out []int
	for i := range f.on {
		at := i
		for steps := 0; at >= 0 && at != part && steps <= len(f.on); steps++ {
			at = f.on[at]
		}
		if at == part {
			out = append(out, i)
		}
	}
	return out
}

// order returns the candidates from the grounds outward, those that close a
// loop last.
func (f *proposer) order() []int {
	var out []int
	var walk func(part int)
	walk = func(part int) {
		for i, c := range f.res.Joints {
			if !c.Loop && c.Parent == part {
				out = append(out, i)
				walk(c.Child)
			}
		}
	}
	for part, by := range f.by {
		if by < 0 {
			walk(part)
		}
	}
	for i, c := range f.res.Joints {
		if c.Loop {
			out = append(out, i)
		}
	}
	return out
}

// markLoops marks the proposals of the tree that lie between the parts of one
// that closes a loop.
func (f *proposer) markLoops(list []Proposal) {
	for _, c := range list {
		if !c.Loop {
			continue
		}
		seen := map[int]bool{} // parts on exactly one of the two ways to the ground
		for _, at := range []int{c.Parent, c.Child} {
			for f.by[at] >= 0 {
				seen[at] = !seen[at]
				at = f.res.Joints[f.by[at]].Parent
			}
		}
		for i := range list {
			list[i].InLoop = list[i].InLoop || !list[i].Loop && seen[list[i].Child]
		}
	}
}

// propose makes the proposal of a candidate; before are the ones nearer to the
// ground.
func (f *proposer) propose(i int, before []Proposal) Proposal {
	c := f.res.Joints[i]
	p := Proposal{
		Parent: c.Parent, Child: c.Child, Name: f.names[i], Confidence: c.Confidence, Loop: c.Loop, Moves: f.moves(c.Child),
	}
	axes := []find.Axis{{Kind: c.Kind, Axis: c.Axis, Origin: c.Origin, Pitch: c.Pitch, Evidence: c.Evidence}}
	axes = append(axes, c.RunnersUp...)
	senses := f.senses(c.Parent, before)
	for at := c.Parent; !c.Loop && at >= 0 && f.by[at] >= 0; at = f.res.Joints[f.by[at]].Parent {
		p.Depth++
	}
	for _, a := range axes {
		p.Choices = append(p.Choices, f.choice(c, a, senses))
	}
	return p
}

// alike is the angle within which two hinges of a limb are taken to turn about
// like directions.
const alike = 45 * math.Pi / 180

// senses returns the hinges between a part and its ground, the nearest first.
func (f *proposer) senses(part int, before []Proposal) []r3.Vec {
	var out []r3.Vec
	for steps := 0; part >= 0 && steps <= len(f.on); steps++ {
		if k := f.session.Doc.JointOf(f.session.Parts[part].Name); k >= 0 {
			out = append(out, f.session.Doc.Joints[k].Frame.Hinge)
		} else if k := slices.IndexFunc(before, func(p Proposal) bool { return p.Child == part && !p.Loop }); k >= 0 {
			out = append(out, f.directed(before[k].Choices[0]))
		}
		part = f.on[part]
	}
	return out
}

// directed returns the direction of a choice's hinge.
func (f *proposer) directed(c Choice) r3.Vec {
	if c.Spec.Flip {
		return r3.Scale(-1, c.Spec.Datum.Dir)
	}
	return c.Spec.Datum.Dir
}

// sense returns which way an axis points: as the nearest hinge towards the
// ground that is about parallel to it, else with its largest component positive.
func sense(axis r3.Vec, senses []r3.Vec) r3.Vec {
	for _, v := range senses {
		switch along := r3.Dot(axis, v); {
		case along >= math.Cos(alike):
			return axis
		case along <= -math.Cos(alike):
			return r3.Scale(-1, axis)
		}
	}
	if largest(axis) < 0 {
		return r3.Scale(-1, axis)
	}
	return axis
}

// choice reads one axis of a candidate.
func (f *proposer) choice(c find.Candidate, a find.Axis, senses []r3.Vec) Choice {
	out := Choice{Found: a.Kind, Kind: kindOf(a.Kind), Score: a.Score, Evidence: a.Evidence}
	if out.Kind == kinematics.Helical {
		out.Pitch = a.Pitch / (2 * math.Pi)
	}
	if out.Kind == kinematics.Spherical {
		f.ballChoice(&out, c.Child, c.Parent, a.Origin)
		return out
	}
	dir := sense(a.Axis, senses)
	line := kinematics.Axis{Point: a.Origin, Dir: dir}
	if h, ok := f.session.housingOf(line, c.Child, c.Parent); ok && out.hasAxis() {
		out.Picks, out.Recipe, out.Datum = h.picks, h.recipe, h.datum
	} else {
		out.Datum = f.lineDatum(line, c, a)
	}
	// The line is the finder's, which rests on all that it has seen, with the
	// datum's own point and sense, so that a refit finds its way.
	along := dir
	if r3.Dot(out.Datum.Axis, dir) < 0 {
		along, out.Spec.Flip = r3.Scale(-1, dir), true
	}
	out.Spec.Datum = kinematics.Axis{Point: line.Foot(out.Datum.Origin), Dir: along}
	out.Spec.Slide = (out.Datum.Extent[0] + out.Datum.Extent[1]) / 2
	return out
}

// kindOf returns the document's word for a kind that was found. A kind that
// the document cannot express becomes the hinge that is nearest to it.
func kindOf(k find.Kind) kinematics.Kind {
	if kind := kinematics.Kind(k); kind.Freedoms() >= 0 {
		return kind
	}
	return kinematics.Revolute
}

// hasAxis reports whether round faces about the axis say where it is.
func (c Choice) hasAxis() bool {
	switch c.Found {
	case find.FixedKind, find.Spherical, find.Planar:
		return false
	}
	return true
}

// lineDatum states an axis that nothing can be picked for.
func (f *proposer) lineDatum(line kinematics.Axis, c find.Candidate, a find.Axis) fit.Datum {
	half := max(a.Evidence.Radius, 0.02*f.session.Parts[c.Child].Mesh.Diagonal())
	nan := math.NaN()
	return fit.Datum{
		Kind: fit.Line, Origin: line.Point, Axis: line.Dir, Extent: [2]float64{-half, half},
		Quality: fit.Quality{RMS: nan, FormError: nan, SigmaAxis: nan, SigmaOrigin: nan, SigmaRadius: nan},
	}
}

// aim builds every frame, reach toward the joints that the child would carry.
func (f *proposer) aim(list []Proposal) {
	for i := range list {
		around := kinematics.Surroundings{}
		for _, next := range list {
			if next.Parent != list[i].Child || next.Loop {
				continue
			}
			if p, err := next.Choices[0].Spec.Origin(); err == nil {
				around.Next = append(around.Next, p)
			}
		}
		if c, ok := centroid(f.session.Parts[list[i].Child].Mesh); ok {
			around.Centroid = &c
		}
		for k := range list[i].Choices {
			c := &list[i].Choices[k]
			if frame, err := kinematics.Build(c.Spec, around); err == nil { // its axis is a unit vector
				c.Frame = frame
			}
		}
	}
}
