package loop

import (
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// work is the scratch of one computation.
type work struct {
	values  []float64              // see load
	bases   []kinematics.Transform // of pairs that are balls
	motions []kinematics.Transform // of bodies
	twists  []kinematics.Twist     // of values, at the pose
	res     []float64              // 6 a loop: rotation vector, then shift by the loop's size
	jac     []float64              // rows x active, row by row
	jac0    []float64              // another one, to compare
	dec     spectrum
	y, t    []float64 // path parameter and followers, scaled; the unit tangent
	y1, t1  []float64
	step    []float64
	start   []float64 // driver values at parameter 0
	dir     []float64 // of the drivers, scaled, unit
}

func (l *Linkage) newWork() *work {
	n, rows := len(l.active), 6*len(l.loops)
	w := &work{
		values: make([]float64, l.values), bases: make([]kinematics.Transform, l.pairs()), motions: make([]kinematics.Transform, len(l.links)),
		twists: make([]kinematics.Twist, l.values), res: make([]float64, rows), jac: make([]float64, rows*n),
		jac0: make([]float64, rows*n), start: make([]float64, len(l.drivers)), dir: make([]float64, len(l.drivers)),
	}
	w.y, w.t, w.y1, w.t1 = make([]float64, n+1), make([]float64, n+1), make([]float64, n+1), make([]float64, n+1)
	w.step = make([]float64, n+1)
	return w
}

func (l *Linkage) getWork() *work {
	if w, ok := l.pool.Get().(*work); ok {
		return w
	}
	return l.newWork()
}

func (l *Linkage) putWork(w *work) { l.pool.Put(w) }

// evaluate fills the residual and its derivatives at w.values. Rows are the
// loop's opening: rotation vector of the way round, and the distance between
// the two places of the closing joint by the loop's size. Columns are the active
// values, lengths by their scale.
func (l *Linkage) evaluate(w *work) {
	l.pose(w)
	clear(w.jac)
	for i := range l.loops {
		l.evaluateRing(w, i)
	}
}

// pose fills the bodies' motions and the values' twists.
func (l *Linkage) pose(w *work) {
	for k := range l.links {
		b := &l.links[k]
		l.twistsOf(w, k)
		x := l.motionOf(w, k)
		if b.parent != ground {
			p := &w.motions[b.parent]
			x = p.Mul(x)
			carry(w.twists[b.first:b.first+b.count], p)
		}
		w.motions[k] = x
	}
}

// carry expresses twists in the axes that x moves theirs to.
func carry(tw []kinematics.Twist, x *kinematics.Transform) {
	for i, t := range tw {
		tw[i] = x.Twist(t)
	}
}

func (l *Linkage) evaluateRing(w *work, i int) {
	r := &l.loops[i]
	l.twistsOf(w, len(l.links)+i)
	one := l.motionOf(w, len(l.links)+i)
	if r.parent != ground {
		one = w.motions[r.parent].Mul(one)
		carry(w.twists[r.first:r.first+r.count], &w.motions[r.parent])
	}
	two := kinematics.Identity()
	if r.child != ground {
		two = w.motions[r.child]
	}
	pOne, pTwo := one.Apply(r.onParent), two.Apply(r.onChild)
	turn := one.Mul(r.gap).Mul(two.Inverse())
	turn.T = r3.Vec{}
	phi := turn.Log().Angular
	store(w.res[6*i:], phi, r3.Scale(1/r.size, r3.Sub(pOne, pTwo)))
	for _, k := range r.up {
		l.columns(w, i, l.links[k].first, l.links[k].count, 1, pOne, phi)
	}
	l.columns(w, i, r.first, r.count, 1, pOne, phi)
	for _, k := range r.down {
		l.columns(w, i, l.links[k].first, l.links[k].count, -1, pTwo, r3.Scale(-1, phi))
	}
}

// columns adds the derivatives of loop i by some values that move the point p
// of the loop's end. phi is the loop's rotation vector, as seen from that side.
func (l *Linkage) columns(w *work, i, first, count int, sign float64, p, phi r3.Vec) {
	r := &l.loops[i]
	n := len(l.active)
	for v := first; v < first+count; v++ {
		t := w.twists[v]
		s := sign * l.freedoms[v].scale
		turn := r3.Scale(s, inverseLeft(phi, t.Angular))
		shift := r3.Scale(s/r.size, t.At(p))
		c := l.column[v]
		for d, x := range [6]float64{turn.X, turn.Y, turn.Z, shift.X, shift.Y, shift.Z} {
			w.jac[(6*i+d)*n+c] = x
		}
	}
}

func store(dst []float64, a, b r3.Vec) {
	dst[0], dst[1], dst[2], dst[3], dst[4], dst[5] = a.X, a.Y, a.Z, b.X, b.Y, b.Z
}
