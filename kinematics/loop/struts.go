package loop

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// Struts returns the struts among the linkage's loops: four joints round, a
// slider (or a cylindric joint) between two pivots (hinges, balls or universal
// joints), and a hinge. Where the pivots are hinges all three run parallel, to
// the linkage's tolerance. Loops come in their order.
func (l *Linkage) Struts() []Strut {
	var out []Strut
	for i := range l.loops {
		if s, ok := l.strut(i); ok {
			out = append(out, s)
		}
	}
	return out
}

// around returns the joints of loop i in order, fixed ones left out. turned
// tells joints that are met from child to parent.
func (l *Linkage) around(i int) (joints []int, turned []bool) {
	up, down := l.sides(i)
	add := func(j int, back bool) {
		if l.Joint(j).Kind != kinematics.Fixed {
			joints, turned = append(joints, j), append(turned, back)
		}
	}
	for _, j := range up {
		add(j, false)
	}
	add(l.tree.NumJoints()+i, false)
	for _, j := range slices.Backward(down) {
		add(j, true)
	}
	return joints, turned
}

// strut looks for a strut in loop i.
func (l *Linkage) strut(i int) (Strut, bool) {
	joints, turned := l.around(i)
	if len(joints) != 4 {
		return Strut{}, false
	}
	for k, j := range joints {
		if kind := l.Joint(j).Kind; kind != kinematics.Prismatic && kind != kinematics.Cylindric {
			continue
		}
		foot, head, hinge := joints[(k+3)%4], joints[(k+1)%4], joints[(k+2)%4]
		if !isPivot(l.Joint(foot).Kind) || !isPivot(l.Joint(head).Kind) || l.Joint(hinge).Kind != kinematics.Revolute {
			continue
		}
		// Going on round the loop the hinge leads from the head's part to the foot's,
		// so it is met from child to parent where its value moves the head; else the
		// ends change names.
		back := turned[k]
		if !turned[(k+2)%4] {
			foot, head, back = head, foot, !back
		}
		return l.strutOf(hinge, j, foot, head, back)
	}
	return Strut{}, false
}

func isPivot(k kinematics.Kind) bool {
	return k == kinematics.Revolute || k == kinematics.Spherical || k == kinematics.Universal
}

func (l *Linkage) strutOf(hinge, slide, foot, head int, back bool) (Strut, bool) {
	axis := l.Joint(hinge).Frame.Axis()
	f, h := l.Joint(foot), l.Joint(head)
	// A hinge's place along its own line is a choice: take the foot's height.
	at, to := f.Frame.Origin, h.Frame.Origin
	for _, pivot := range []kinematics.Joint{f, h} {
		d := pivot.Frame.Hinge
		if pivot.Kind == kinematics.Revolute && r3.Norm(r3.Cross(d, axis.Dir)) > l.o.tolerance() {
			return Strut{}, false
		}
	}
	if f.Kind == kinematics.Revolute || h.Kind == kinematics.Revolute {
		to = r3.Sub(to, r3.Scale(axis.Along(to)-axis.Along(at), axis.Dir))
	}
	s, err := StrutBetween(axis, at, to)
	if err != nil {
		return Strut{}, false
	}
	dir := l.Joint(slide).Frame.Hinge
	if f.Kind == kinematics.Revolute && math.Abs(r3.Dot(dir, axis.Dir)) > l.o.tolerance() {
		return Strut{}, false
	}
	if back { // the slide's value moves the foot's side
		dir = r3.Scale(-1, dir)
	}
	line := r3.Sub(to, at)
	s.Rest = r3.Dot(line, dir)
	s.Beside = r3.Norm(r3.Sub(line, r3.Scale(s.Rest, dir)))
	s.Hinge, _ = l.ValueIndex(hinge)
	s.Foot, _ = l.ValueIndex(foot)
	s.Head, _ = l.ValueIndex(head)
	s.Slide, _ = l.ValueIndex(slide)
	if l.Joint(slide).Kind == kinematics.Cylindric {
		s.Slide++ // its travel
	}
	return s, s.Rest != 0
}

// FourBarOf returns the four-bar that loop i of the linkage is, where it is
// one: four hinges that run parallel, to the linkage's tolerance. The crank is
// the joint of the first driver where that is in the loop, or else the first
// joint of the tree in it; values are those of crank, coupler (between crank and
// coupler), pin (between coupler and rocker) and rocker.
func (l *Linkage) FourBarOf(i int) (f FourBar, values [4]int, ok bool) {
	if i < 0 || i >= len(l.loops) {
		return f, values, false
	}
	joints, _ := l.around(i)
	if len(joints) != 4 {
		return f, values, false
	}
	first := 0
	for k, j := range joints {
		if v, _ := l.ValueIndex(j); len(l.drivers) > 0 && v == l.drivers[0] {
			first = k
		}
	}
	var pins [4]kinematics.Axis
	for k := range joints {
		j := joints[(first+k)%4]
		joint := l.Joint(j)
		if joint.Kind != kinematics.Revolute {
			return f, values, false
		}
		values[k], _ = l.ValueIndex(j)
		pins[k] = joint.Frame.Axis()
		if k > 0 && r3.Norm(r3.Cross(pins[k].Dir, pins[0].Dir)) > l.o.tolerance() {
			return f, values, false
		}
	}
	span := func(a, b int) float64 {
		return pins[0].Distance(r3.Add(pins[0].Point, r3.Sub(pins[b].Point, pins[a].Point)))
	}
	return FourBar{Crank: span(0, 1), Coupler: span(1, 2), Rocker: span(2, 3), Ground: span(3, 0)}, values, true
}
