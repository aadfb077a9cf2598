package loop

import "gonum.org/v1/gonum/spatial/r3"

// Misfit is how far a loop stands open.
type Misfit struct {
	Joint  int     // the closing joint, counted as JointOf does
	Angle  float64 // between the joint's frames on both parts, less what the joint allows; radians
	Length float64 // between their origins, less what the joint allows; model units
	// Offset is that from the place on the parent's side to the place on the
	// child's, in model axes.
	Offset r3.Vec
}

// Misfits returns how far each loop stands open at the values: with Zero as
// modelled, where it is the difference between what was measured on the closing
// joint's two parts.
func (l *Linkage) Misfits(values []float64) ([]Misfit, error) {
	if err := l.checkValues(values); err != nil {
		return nil, err
	}
	w := l.getWork()
	defer l.putWork(w)
	l.load(w, values)
	l.evaluate(w)
	out := make([]Misfit, len(l.loops))
	for i := range out {
		open := w.res[6*i : 6*i+6]
		d := r3.Scale(-l.loops[i].size, r3.Vec{X: open[3], Y: open[4], Z: open[5]})
		out[i] = Misfit{Joint: l.tree.NumJoints() + i, Angle: norm(open[:3]), Length: r3.Norm(d), Offset: d}
	}
	return out, nil
}

// Assemble returns the values nearest to the given ones (angles in radians,
// lengths by the loop's size) that close the loops as well as can be: the
// misfit is shared among all joints, drivers too. It returns an *OpenError
// where the loops stay open beyond Options.Misfit.
func (l *Linkage) Assemble(values []float64) ([]float64, error) {
	if err := l.checkValues(values); err != nil {
		return nil, err
	}
	w := l.getWork()
	defer l.putWork(w)
	l.load(w, values)
	if !l.settle(w) {
		return nil, l.openError(w)
	}
	return l.saved(w), nil
}
