package find

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// The vertices of a turned surface lie on it, whatever its tessellation, so
// that the square of their distance from the axis is a function of their height
// along it. That function, as a spline, and the axis are fitted together.

const (
	profileSteps   = 14
	profilePlain   = 5 // of these without weights, at the second try
	profileSection = 4 // fits of the section alone before
	profileSample  = 1500
	profileEach    = 12   // vertices for each span of the spline
	mostSpans      = 14   // of the spline
	profileOff     = 4e-3 // of the mean radius, root mean square that is a turned surface
	profileKeep    = 0.6  // least share of the vertices that is on it
	profileTune    = 2.5  // scales at which a vertex counts half
	profileTilt    = 0.5 * math.Pi / 180
	stiffness      = 1e-6 // of the spline, against that of the points
)

// profile is a surface of revolution with a free section.
type profile struct {
	origin, axis r3.Vec
	tilt, shift  float64 // one standard deviation, radians and model units
	radius, rms  float64 // mean distance from the axis; of the vertices on the surface
	on           []r3.Vec
}

// fitProfile fits the surface from an axis near by. The residual is the
// distance to first order, (rho^2 - F(h)) / |grad| (P. Sampson, Fitting conic
// sections to very scattered data, 1982); vertices off the surface are weighed
// down as in settle, at once or, where that leads nowhere, after some steps. It
// is false where the vertices do not lie on one.
func fitProfile(p []r3.Vec, origin, axis r3.Vec, sigma float64) (profile, bool) {
	spans := min(max(len(p)/profileEach, 2), mostSpans)
	if len(p) < 3*(4+spans+2) {
		return profile{}, false
	}
	mid, size := around(p)
	if !(size > 0) {
		return profile{}, false
	}
	unit := make([]r3.Vec, len(p)) // the equations mix lengths and their squares
	for i, q := range p {
		unit[i] = r3.Scale(1/size, r3.Sub(q, mid))
	}
	for _, plain := range [...]int{0, profilePlain} {
		f := profileFit{
			p: unit, o: r3.Scale(1/size, r3.Sub(origin, mid)), a: axis, sigma: sigma / size, spans: spans,
			weight: make([]float64, len(p)), res: make([]float64, len(p)), coef: make([]float64, spans+2),
		}
		if out, ok := f.run(plain); ok {
			out.origin = r3.Add(mid, r3.Scale(size, out.origin))
			out.shift, out.radius, out.rms = size*out.shift, size*out.radius, size*out.rms
			for i, q := range out.on {
				out.on[i] = r3.Add(mid, r3.Scale(size, q))
			}
			return out, true
		}
	}
	return profile{}, false
}

// around returns the points' centroid and the largest distance from it.
func around(p []r3.Vec) (mid r3.Vec, size float64) {
	for _, q := range p {
		mid = r3.Add(mid, q)
	}
	mid = r3.Scale(1/float64(len(p)), mid)
	for _, q := range p {
		size = max(size, r3.Norm(r3.Sub(q, mid)))
	}
	return mid, size
}

// run makes all steps, the first plain ones without weights.
func (f *profileFit) run(plain int) (profile, bool) {
	for i := range f.weight {
		f.weight[i] = 1
	}
	if plain == 0 {
		if !f.byMedians() {
			return profile{}, false
		}
		for range profileSection {
			if !f.settleSection() {
				return profile{}, false
			}
		}
	}
	for i := range profileSteps {
		if !f.step() {
			return profile{}, false
		}
		if i >= plain {
			f.reweigh()
		}
	}
	return f.result()
}

// byMedians sets the weights by the distances from the median of each span.
func (f *profileFit) byMedians() bool {
	if !f.measure() {
		return false
	}
	rho := make([]float64, len(f.p))
	span := make([][]float64, f.spans)
	at := make([]int, len(f.p))
	for i, q := range f.p {
		rho[i] = fromLine(q, f.o, f.a)
		at[i], _, _ = f.spline(r3.Dot(r3.Sub(q, f.o), f.a))
		span[at[i]] = append(span[at[i]], rho[i])
	}
	for _, s := range span {
		slices.Sort(s)
	}
	for i, k := range at {
		f.res[i] = rho[i] - span[k][len(span[k])/2]
	}
	f.reweigh()
	return true
}

// settleSection fits the section and sets the weights about the axis so far.
func (f *profileFit) settleSection() bool {
	x, y := f.frame()
	if !f.measure() {
		return false
	}
	f.fitSpline(x, y)
	row := make([]float64, 4+len(f.coef))
	for i, q := range f.p {
		f.res[i] = f.equation(q, x, y, row)
	}
	f.reweigh()
	return true
}

// profileFit is the state of a fit.
type profileFit struct {
	p           []r3.Vec
	o, a        r3.Vec
	sigma       float64
	spans       int
	coef        []float64 // of the spline
	weight, res []float64
	lo, width   float64 // of the heights, and of a span
	cov         mat.SymDense
	scale       float64
}

// frame returns the axes across.
func (f *profileFit) frame() (x, y r3.Vec) {
	x = across(f.a)
	return x, r3.Cross(f.a, x)
}

// measure divides the range of heights into spans.
func (f *profileFit) measure() bool {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range f.p {
		h := r3.Dot(r3.Sub(q, f.o), f.a)
		lo, hi = min(lo, h), max(hi, h)
	}
	f.lo, f.width = lo, (hi-lo)/float64(f.spans)
	return f.width > 0
}

// step makes one Gauss-Newton step.
func (f *profileFit) step() bool {
	if !f.measure() {
		return false
	}
	x, y := f.frame()
	f.fitSpline(x, y)
	n := 4 + len(f.coef)
	sum, rhs := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	row := make([]float64, n)
	for i, q := range f.p {
		f.res[i] = f.equation(q, x, y, row)
		for j, v := range row {
			if v == 0 {
				continue
			}
			rhs.SetVec(j, rhs.AtVec(j)-f.weight[i]*v*f.res[i])
			for k := j; k < n; k++ {
				sum.SetSym(j, k, sum.At(j, k)+f.weight[i]*v*row[k])
			}
		}
	}
	f.stiffen(sum)
	var chol mat.Cholesky
	var d mat.VecDense
	if !chol.Factorize(sum) || chol.SolveVecTo(&d, rhs) != nil || chol.InverseTo(&f.cov) != nil {
		return false
	}
	f.o = r3.Add(f.o, r3.Add(r3.Scale(d.AtVec(0), x), r3.Scale(d.AtVec(1), y)))
	bx, by := d.AtVec(2), d.AtVec(3)
	if limit := math.Hypot(bx, by); !(limit < 0.5) {
		return false
	}
	f.a = r3.Unit(r3.Add(f.a, r3.Add(r3.Scale(bx, x), r3.Scale(by, y))))
	return true
}

// fitSpline fits the section to the vertices about the axis so far.
func (f *profileFit) fitSpline(x, y r3.Vec) {
	n := len(f.coef)
	sum, rhs := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i, q := range f.p {
		d := r3.Sub(q, f.o)
		u, v, h := r3.Dot(d, x), r3.Dot(d, y), r3.Dot(d, f.a)
		at, b, _ := f.spline(h)
		for j := range 3 {
			rhs.SetVec(at+j, rhs.AtVec(at+j)+f.weight[i]*b[j]*(u*u+v*v))
			for k := j; k < 3; k++ {
				sum.SetSym(at+j, at+k, sum.At(at+j, at+k)+f.weight[i]*b[j]*b[k])
			}
		}
	}
	bend(sum, 0, stiffness)
	var chol mat.Cholesky
	var c mat.VecDense
	if chol.Factorize(sum) && chol.SolveVecTo(&c, rhs) == nil {
		for j := range f.coef {
			f.coef[j] = c.AtVec(j)
		}
	}
}

// spline returns the first of the three quadratic B-splines at height h, their
// values and their slopes.
func (f *profileFit) spline(h float64) (at int, b, slope [3]float64) {
	t := (h - f.lo) / f.width
	at = min(max(int(t), 0), f.spans-1)
	t -= float64(at)
	b = [3]float64{(1 - t) * (1 - t) / 2, 0.5 + t - t*t, t * t / 2}
	slope = [3]float64{(t - 1) / f.width, (1 - 2*t) / f.width, t / f.width}
	return at, b, slope
}

// equation writes the residual's derivatives by the axis's shift and turn and
// by the spline into row, and returns the residual.
func (f *profileFit) equation(q, x, y r3.Vec, row []float64) float64 {
	d := r3.Sub(q, f.o)
	u, v, h := r3.Dot(d, x), r3.Dot(d, y), r3.Dot(d, f.a)
	at, b, slope := f.spline(h)
	value, rise := 0.0, 0.0
	for j := range 3 {
		value += f.coef[at+j] * b[j]
		rise += f.coef[at+j] * slope[j]
	}
	rho2 := u*u + v*v
	g := 1 / math.Sqrt(4*rho2+rise*rise+1e-300)
	clear(row)
	row[0], row[1] = -2*u*g, -2*v*g
	row[2], row[3] = -(2*h+rise)*u*g, -(2*h+rise)*v*g
	for j := range 3 {
		row[4+at+j] = -b[j] * g
	}
	return (rho2 - value) * g
}

func (f *profileFit) stiffen(sum *mat.SymDense) { bend(sum, 4, stiffness) }

// bend adds a penalty on second differences of the coefficients from the first
// on, so that spans without vertices are determined.
func bend(sum *mat.SymDense, first int, share float64) {
	n, _ := sum.Dims()
	trace := 0.0
	for j := first; j < n; j++ {
		trace += sum.At(j, j)
	}
	w := share * trace / float64(n-first)
	c := [3]float64{1, -2, 1}
	for j := first; j+2 < n; j++ {
		for a := range 3 {
			for b := a; b < 3; b++ {
				sum.SetSym(j+a, j+b, sum.At(j+a, j+b)+w*c[a]*c[b])
			}
		}
	}
}

// reweigh sets the weights by the residuals and their median size.
func (f *profileFit) reweigh() {
	size := make([]float64, len(f.res))
	for i, e := range f.res {
		size[i] = math.Abs(e)
	}
	slices.Sort(size)
	f.scale = max(1.4826*size[len(size)/2], f.sigma, 0.1*fileRounding*f.width*float64(f.spans))
	for i, e := range f.res {
		t := e / (profileTune * f.scale)
		f.weight[i] = 1 / (1 + t*t)
	}
}

// result judges the fit.
func (f *profileFit) result() (profile, bool) {
	out := profile{axis: f.a}
	ss := 0.0
	for i, e := range f.res {
		out.radius += fromLine(f.p[i], f.o, f.a) / float64(len(f.p))
		if math.Abs(e) < 2*profileTune*f.scale {
			out.on = append(out.on, f.p[i])
			ss += e * e
		}
	}
	n := float64(len(out.on))
	free := n - float64(4+len(f.coef))
	if free < 8 {
		return out, false
	}
	out.rms = math.Sqrt(ss / n)
	s2 := max(ss/free, fileRounding*fileRounding*out.radius*out.radius) // a sphere's axis is known to nothing, however exact
	across := func(i, j int) float64 {
		a, b, c := f.cov.At(i, i), f.cov.At(j, j), f.cov.At(i, j)
		return math.Sqrt(s2 * ((a+b)/2 + math.Hypot((a-b)/2, c)))
	}
	out.shift, out.tilt = across(0, 1), across(2, 3)
	// The origin in the middle of the vertices that are on it.
	h := 0.0
	for _, q := range out.on {
		h += r3.Dot(r3.Sub(q, f.o), f.a) / n
	}
	out.origin = r3.Add(f.o, r3.Scale(h, f.a))
	out.shift = min(out.shift, math.Hypot(out.rms/math.Sqrt(n)*4, out.tilt*math.Abs(h)))
	return out, n >= profileKeep*float64(len(f.p)) && out.rms <= profileOff*out.radius+2*f.sigma && out.tilt < profileTilt
}
