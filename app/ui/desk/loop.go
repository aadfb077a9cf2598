package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pintle/app/doc"
	"pintle/kinematics"
	"pintle/kinematics/loop"
)

// pull puts the drivers of a value's loop where they bring it to v, or as near
// as the loop lets them.
func (d *Desk) pull(at doc.ValueRef, v float64) {
	t, err := d.session.Tree()
	if err != nil {
		d.problem(err)
		return
	}
	now, err := d.session.Values(t, d.values)
	if err != nil {
		d.problem(err)
		return
	}
	drive, err := d.session.Drive(now, at, v)
	if err != nil {
		d.problem(err)
		return
	}
	for driver, x := range drive {
		d.put(driver, x)
	}
	if now, err = d.session.Values(t, d.values); err != nil {
		return
	}
	for driver := range drive { // where the loop stops, a driver goes no further
		first, _ := t.ValueIndex(t.Find(driver.Joint))
		d.put(driver, now[first+driver.Freedom])
	}
}

// LoopOf returns the loop that the selected joint is part of; ok is false where
// it is in none.
func (d *Desk) LoopOf() (n doc.Linkage, ok bool) {
	if d.session == nil || !d.session.Doc.HasLoops() {
		return n, false
	}
	all, err := d.session.Linkages()
	if err != nil {
		return n, false
	}
	i := all.LinkageOf(d.joint)
	if i < 0 {
		return n, false
	}
	return all.List[i], true
}

// DriveLoop lets the chosen value of the selected joint drive its loop. The
// mechanism stays where it stands.
func (d *Desk) DriveLoop() {
	n, ok := d.LoopOf()
	if !ok {
		return
	}
	at := doc.ValueRef{Joint: d.joint, Freedom: d.Freedom()}
	stands := map[string][]float64{}
	for _, name := range n.Joints {
		stands[name] = d.Values(name)
	}
	if !d.do("drive by "+d.joint, func(s *doc.Session) (doc.Document, error) { return s.Doc.SetDriver(at) }) {
		return
	}
	for name, v := range stands {
		d.values[name] = v
	}
	d.changed()
}

// loopInputs names what the motion of a loop depends on, for the joint that
// drives it; "" for others.
func loopInputs(s *doc.Session, j doc.Joint) string {
	if !s.Doc.HasLoops() {
		return ""
	}
	all, err := s.Linkages()
	if err != nil {
		return ""
	}
	i := all.LinkageOf(j.Name)
	if i < 0 || !slices.ContainsFunc(all.List[i].Drivers, func(v doc.ValueRef) bool { return v.Joint == j.Name }) {
		return ""
	}
	var b strings.Builder
	fmt.Fprint(&b, "|", all.List[i].Drivers)
	for _, name := range all.List[i].Joints {
		k := s.Doc.Joints[s.Doc.JointIndex(name)]
		fmt.Fprint(&b, k.Name, k.Kind, k.Frame, k.Pitch, k.Limits, k.Parent, k.Child)
	}
	return b.String()
}

// loopReach is what is known of how far a loop goes.
type loopReach struct {
	session *doc.Session
	at      doc.ValueRef
	proofs  int // how many joints' motions it knows of
	reach   loop.Reach
	ok      bool
}

// LoopReach returns how far the chosen value of the selected joint can go in its
// loop: to dead points, limits, and the contacts that are known of the loop's
// joints. ok is false where it is in no loop that it can drive.
func (d *Desk) LoopReach() (r loop.Reach, ok bool) {
	n, ok := d.LoopOf()
	if !ok || n.Solver == nil {
		return r, false
	}
	at := doc.ValueRef{Joint: d.joint, Freedom: d.Freedom()}
	free := map[string]kinematics.Range{}
	for _, name := range n.Joints {
		if e, known := d.proofs.known[name]; known && e.motion != nil {
			free[name] = e.motion.FreeInLoop()
		}
	}
	if k := d.loopReach; k.session == d.session && k.at == at && k.proofs == len(free) {
		return k.reach, k.ok
	}
	r, _, ok, err := d.session.LoopReach(context.Background(), at, free)
	ok = ok && err == nil
	d.loopReach = loopReach{session: d.session, at: at, proofs: len(free), reach: r, ok: ok}
	return r, ok
}
