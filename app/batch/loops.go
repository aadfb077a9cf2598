package batch

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/fit/mesh"
	"pintle/kinematics"
	"pintle/kinematics/loop"
)

type loopsCommand struct {
	Document string `arg:"" help:"A document whose joints close loops."`
	Contact  bool   `help:"Also say how far each loop goes before parts of it meet."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// The command's JSON. Values are degrees, or model units of what slides.
type (
	loopsAnswer struct {
		File  string       `json:"file"`
		Unit  mesh.Unit    `json:"unit"`
		Loops []loopAnswer `json:"loops"`
	}
	loopAnswer struct {
		Kind      string         `json:"kind"`
		Joints    []string       `json:"joints"`
		Closing   []string       `json:"closing"`
		Problem   *string        `json:"problem"` // why it cannot be moved
		Freedoms  int            `json:"freedoms"`
		Kutzbach  int            `json:"kutzbach"`
		Redundant int            `json:"redundant"`
		Idle      int            `json:"idle"`
		Misfit    wire.Num       `json:"misfit"` // model units, as modelled
		Drivers   []driverAnswer `json:"drivers"`
		Free      *freeAnswer    `json:"free"` // of the first driver, with --contact
	}
	freeAnswer struct {
		Lower endAnswer `json:"lower"`
		Upper endAnswer `json:"upper"`
	}
	driverAnswer struct {
		Joint   string       `json:"joint"`
		Freedom int          `json:"freedom"`
		Unit    string       `json:"unit"` // degree or length
		Lower   endAnswer    `json:"lower"`
		Upper   endAnswer    `json:"upper"`
		Locks   []lockAnswer `json:"locks"`
		Flat    []wire.Num   `json:"change_points"`
	}
	endAnswer struct {
		At     wire.Num    `json:"at"` // null: no end
		Reason loop.Reason `json:"reason"`
		Joint  string      `json:"joint"` // which locks or is at its limit
	}
	lockAnswer struct {
		Joint string   `json:"joint"`
		At    wire.Num `json:"at"`    // of the driver
		Value wire.Num `json:"value"` // of the joint that stands still
	}
)

// Run tells what the document's closed loops can do.
func (c *loopsCommand) Run(r *run) error {
	if !isDocument(c.Document) {
		return usageError{fmt.Errorf("%s: only a document (*%s) has joints", filepath.Base(c.Document), doc.Extension)}
	}
	s, err := r.open(c.Document, modelFlags{})
	if err != nil {
		return err
	}
	facts, err := s.LoopFacts(r.ctx, nil)
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(c.Document), err)
	}
	a := loopsAnswer{File: c.Document, Unit: s.Model.Unit, Loops: []loopAnswer{}}
	for _, f := range facts {
		answer := newLoopAnswer(s.Doc, f)
		if f.Problem != nil {
			r.out.Code = ExitStop
		}
		if c.Contact {
			reach, ok, err := s.LoopFree(r.ctx, f.Linkage, nil)
			if err != nil {
				return fmt.Errorf("%s: %w", filepath.Base(c.Document), err)
			}
			if ok {
				d := s.Doc.FreedomOf(f.Linkage.Drivers[0])
				answer.Free = &freeAnswer{Lower: newEnd(d, f, reach.Lower), Upper: newEnd(d, f, reach.Upper)}
			}
		}
		a.Loops = append(a.Loops, answer)
	}
	if c.JSON {
		return r.printJSON(a)
	}
	return r.print(a.text())
}

func newLoopAnswer(d doc.Document, f doc.LoopFacts) loopAnswer {
	a := loopAnswer{
		Kind: f.Kind, Joints: f.Joints, Closing: f.Closing, Freedoms: f.Mobility.Freedoms, Kutzbach: f.Mobility.Kutzbach,
		Redundant: f.Mobility.Redundant, Idle: f.Mobility.Idle, Misfit: wire.Num(f.Misfit.Length), Drivers: []driverAnswer{},
	}
	if f.Problem != nil {
		why := f.Problem.Error()
		a.Problem = &why
		return a
	}
	for _, v := range f.Drivers {
		a.Drivers = append(a.Drivers, newDriverAnswer(d, f, v))
	}
	return a
}

func newDriverAnswer(d doc.Document, f doc.LoopFacts, v doc.DriverFacts) driverAnswer {
	freedom := d.FreedomOf(v.Driver)
	out := driverAnswer{Joint: v.Driver.Joint, Freedom: v.Driver.Freedom, Unit: "length", Locks: []lockAnswer{}, Flat: []wire.Num{}}
	if freedom.Turns {
		out.Unit = "degree"
	}
	out.Lower, out.Upper = newEnd(freedom, f, v.Reach.Lower), newEnd(freedom, f, v.Reach.Upper)
	for _, l := range v.Locks {
		out.Locks = append(out.Locks, lockAnswer{
			Joint: l.Joint.Joint, At: shown(freedom, l.At), Value: shown(d.FreedomOf(l.Joint), l.Value),
		})
	}
	for _, x := range v.Flat {
		out.Flat = append(out.Flat, shown(freedom, x))
	}
	return out
}

func newEnd(freedom kinematics.Freedom, f doc.LoopFacts, s loop.Stop) endAnswer {
	return endAnswer{At: shown(freedom, s.Drive), Reason: s.Reason, Joint: f.Solver.Joint(f.Solver.JointOf(s.Value)).Name}
}

// shown returns a joint value in degrees where it is an angle; one that has no
// end is none.
func shown(f kinematics.Freedom, v float64) wire.Num {
	switch {
	case math.IsInf(v, 0):
		return wire.Num(math.NaN())
	case f.Turns:
		return wire.Num(wire.Degrees(v))
	}
	return wire.Num(v)
}

func (a loopsAnswer) text() string {
	if len(a.Loops) == 0 {
		return "no joint closes a loop\n"
	}
	var b strings.Builder
	for i, l := range a.Loops {
		p := pairs{}
		kind := l.Kind
		if kind == "" {
			kind = "loop"
		}
		p.add(fmt.Sprintf("loop %d", i+1), "%s: %s", kind, strings.Join(l.Joints, ", "))
		p.add("closed by", "%s", strings.Join(l.Closing, ", "))
		if l.Problem != nil {
			p.add("cannot move", "%s", *l.Problem)
			b.WriteString(p.String())
			continue
		}
		p.add("freedoms", "%d (Gruebler-Kutzbach count %d, %s)", l.Freedoms, l.Kutzbach, countOf(l.Redundant, "redundant equation"))
		p.add("open as modelled", "%s", length(float64(l.Misfit), a.Unit))
		for _, d := range l.Drivers {
			a.driver(&p, d)
		}
		if l.Free != nil {
			p.add("free by contact", "%s to %s", a.held(l.Free.Lower, l.Drivers[0].Unit), a.held(l.Free.Upper, l.Drivers[0].Unit))
		}
		b.WriteString(p.String())
	}
	return b.String()
}

// value returns a driver's value with its unit.
func (a loopsAnswer) value(v wire.Num, unit string) string {
	if unit == "degree" {
		return angle(kinematics.Radians(float64(v)))
	}
	return length(float64(v), a.Unit)
}

// end says where a way ends and why.
func (a loopsAnswer) end(e endAnswer, unit string) string {
	if e.Reason == loop.FullTurn {
		return "without end"
	}
	return fmt.Sprintf("%s, %s of %s", a.value(e.At, unit), e.Reason, e.Joint)
}

// held says where a way ends and what holds it there, by limit or contact.
func (a loopsAnswer) held(e endAnswer, unit string) string {
	if e.Reason == loop.FullTurn {
		return "without end"
	}
	return fmt.Sprintf("%s (%s)", a.value(e.At, unit), e.Joint)
}

func (a loopsAnswer) driver(p *pairs, d driverAnswer) {
	p.add("driven by", "%s", d.Joint)
	p.add("  down to", "%s", a.end(d.Lower, d.Unit))
	p.add("  up to", "%s", a.end(d.Upper, d.Unit))
	for _, l := range d.Locks {
		p.add("  at "+a.value(l.At, d.Unit), "%s locks", l.Joint)
	}
	for _, v := range d.Flat {
		p.add("  at "+a.value(v, d.Unit), "several ways lead on")
	}
}
