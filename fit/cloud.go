package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// cloud holds points (and perhaps unit normals) in unit space: the centroid is
// the origin and the largest coordinate lies between 1/2 and 1, whatever units
// and offset the model has. The scale is a power of two and the base is
// subtracted before anything is summed, so neither costs accuracy.
type cloud struct {
	x, y, z    []float64
	nx, ny, nz []float64 // nil without normals
	base, mean r3.Vec    // centroid = base + mean, in model units
	scale      float64   // model units per unit of unit space
	round      float64   // rounding of the given coordinates, in unit space
	known      *factor3  // once asked for
}

// newCloud checks the points and normals and brings them to unit space.
func newCloud(points, normals []r3.Vec) (*cloud, error) {
	if len(normals) != 0 && len(normals) != len(points) {
		return nil, &OptionError{Option: "Normals", Reason: "as many normals as points are needed, or none"}
	}
	lo, hi, err := bounds(points)
	if err != nil {
		return nil, err
	}
	c := &cloud{base: r3.Scale(0.5, r3.Add(lo, hi)), scale: 1}
	half := r3.Sub(hi, c.base)
	size := max(half.X, half.Y, half.Z)
	if size > 1e-290 {
		_, e := math.Frexp(size)
		c.scale = math.Ldexp(1, e)
	}
	big := max(math.Abs(lo.X), math.Abs(hi.X), math.Abs(lo.Y), math.Abs(hi.Y), math.Abs(lo.Z), math.Abs(hi.Z))
	c.round = 1.2e-16 * big / c.scale
	c.fill(points)
	return c, c.fillNormals(normals)
}

// hugest bounds coordinates so that centres and apexes, which may lie 1e9 times
// the size away, do not overflow.
const hugest = 1e290

// bounds returns the corners of the box round the points and fails with a
// FiniteError for coordinates that are not finite or too large.
func bounds(points []r3.Vec) (lo, hi r3.Vec, err error) {
	inf := math.Inf(1)
	lo, hi = r3.Vec{X: inf, Y: inf, Z: inf}, r3.Vec{X: -inf, Y: -inf, Z: -inf}
	for i, p := range points {
		if !(math.Abs(p.X) < hugest && math.Abs(p.Y) < hugest && math.Abs(p.Z) < hugest) {
			return lo, hi, &FiniteError{Index: i, What: "point", Value: [3]float64{p.X, p.Y, p.Z}}
		}
		widen(p.X, &lo.X, &hi.X)
		widen(p.Y, &lo.Y, &hi.Y)
		widen(p.Z, &lo.Z, &hi.Z)
	}
	return lo, hi, nil
}

// widen stretches an interval to x. Unlike min and max it need not mind NaN and
// the sign of zero, and its branches are hardly ever taken.
func widen(x float64, lo, hi *float64) {
	if x < *lo {
		*lo = x
	}
	if x > *hi {
		*hi = x
	}
}

func (c *cloud) fill(points []r3.Vec) {
	n := len(points)
	buf := make([]float64, 3*n)
	c.x, c.y, c.z = buf[:n:n], buf[n:2*n:2*n], buf[2*n:]
	inv := 1 / c.scale
	var sum r3.Vec
	for lo := 0; lo < n; lo += blockRows {
		var part r3.Vec // block sums keep the rounding of long sums down
		for i := lo; i < min(lo+blockRows, n); i++ {
			p := points[i]
			c.x[i], c.y[i], c.z[i] = (p.X-c.base.X)*inv, (p.Y-c.base.Y)*inv, (p.Z-c.base.Z)*inv
			part.X += c.x[i]
			part.Y += c.y[i]
			part.Z += c.z[i]
		}
		sum = r3.Add(sum, part)
	}
	mean := r3.Scale(1/float64(n), sum)
	floats.AddConst(-mean.X, c.x)
	floats.AddConst(-mean.Y, c.y)
	floats.AddConst(-mean.Z, c.z)
	c.mean = r3.Scale(c.scale, mean)
}

func (c *cloud) fillNormals(normals []r3.Vec) error {
	if len(normals) == 0 {
		return nil
	}
	n := len(normals)
	buf := make([]float64, 3*n)
	c.nx, c.ny, c.nz = buf[:n:n], buf[n:2*n:2*n], buf[2*n:]
	for i, v := range normals {
		l := math.Hypot(math.Hypot(v.X, v.Y), v.Z)
		if math.IsNaN(l) || math.IsInf(l, 0) {
			return &FiniteError{Index: i, What: "normal", Value: [3]float64{v.X, v.Y, v.Z}}
		}
		if l > 0 { // a zero normal says nothing and stays zero
			c.nx[i], c.ny[i], c.nz[i] = v.X/l, v.Y/l, v.Z/l
		}
	}
	return nil
}

func (c *cloud) len() int { return len(c.x) }

func (c *cloud) at(i int) r3.Vec { return r3.Vec{X: c.x[i], Y: c.y[i], Z: c.z[i]} }

func (c *cloud) normal(i int) r3.Vec { return r3.Vec{X: c.nx[i], Y: c.ny[i], Z: c.nz[i]} }

// model brings a point of unit space to model units.
func (c *cloud) model(p r3.Vec) r3.Vec {
	return r3.Add(c.base, r3.Add(c.mean, r3.Scale(c.scale, p)))
}

// unit brings a model point to unit space.
func (c *cloud) unit(p r3.Vec) r3.Vec {
	return r3.Scale(1/c.scale, r3.Sub(r3.Sub(p, c.base), c.mean))
}

// pick returns the chosen points in the same unit space (so their centroid is
// no longer the origin).
func (c *cloud) pick(index []int) *cloud {
	d := *c
	d.known = nil
	d.x, d.y, d.z = gather(c.x, index), gather(c.y, index), gather(c.z, index)
	if c.nx != nil {
		d.nx, d.ny, d.nz = gather(c.nx, index), gather(c.ny, index), gather(c.nz, index)
	}
	return &d
}

func gather(v []float64, index []int) []float64 {
	out := make([]float64, len(index))
	for i, k := range index {
		out[i] = v[k]
	}
	return out
}

// sample returns at most n of the points, one chosen at random from each of n
// equal stretches of the list: a plain stride would fall in step with the
// rings of a tessellation.
func (c *cloud) sample(n int) *cloud {
	if c.len() <= n {
		return c
	}
	r := splitMix(0x9e3779b97f4a7c15)
	index := make([]int, n)
	for i := range index {
		lo, hi := i*c.len()/n, (i+1)*c.len()/n
		index[i] = lo + r.intn(hi-lo)
	}
	return c.pick(index)
}

// splitMix is a small fixed-seed generator. Source: G. L. Steele, D. Lea,
// C. H. Flood, Fast splittable pseudorandom number generators (2014).
type splitMix uint64

func (s *splitMix) next() uint64 {
	*s += 0x9e3779b97f4a7c15
	z := uint64(*s)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// intn returns a number in 0 <= k < n; its bias of n/2^64 does not matter.
func (s *splitMix) intn(n int) int { return int(s.next() % uint64(n)) }

// centroid is zero, but for rounding, unless the points were picked from more.
func (c *cloud) centroid() [3]float64 {
	n := 1 / float64(c.len())
	return [3]float64{floats.Sum(c.x) * n, floats.Sum(c.y) * n, floats.Sum(c.z) * n}
}

// spread is the singular value decomposition of the centred points: unit
// directions by falling extent, and the root of each direction's scatter.
type spread struct {
	axis  [3]r3.Vec
	value [3]float64
}

// factor3 is the triangular factor of the centred points and their centroid,
// which is zero but for rounding unless the points were picked from more.
type factor3 struct {
	r    *triangle
	mean r3.Vec
}

// row returns row i of the factor.
func (f *factor3) row(i int) r3.Vec {
	if i >= 3 {
		return r3.Vec{}
	}
	return r3.Vec{X: f.r.at(i, 0), Y: f.r.at(i, 1), Z: f.r.at(i, 2)}
}

// factor decomposes the centred points by QR rather than through the scatter
// matrix, which would lose half of the digits for thin shapes.
func (c *cloud) factor() *factor3 {
	if c.known != nil {
		return c.known
	}
	mean := c.centroid()
	f := &factor3{r: newTriangle(3), mean: r3.Vec{X: mean[0], Y: mean[1], Z: mean[2]}}
	size := min(blockRows, c.len())
	buf := make([]float64, 4*size)
	var cols [4][]float64
	for lo := 0; lo < c.len(); lo += size {
		hi := min(lo+size, c.len())
		for j, src := range [3][]float64{c.x, c.y, c.z} {
			cols[j] = buf[j*size : j*size+hi-lo]
			floats.AddConst(-mean[j], append(cols[j][:0], src[lo:hi]...))
		}
		cols[3] = nil // no right-hand side
		f.r.absorb(cols[:])
	}
	c.known = f
	return f
}

// spread decomposes the triangular factor by SVD.
func (c *cloud) spread() spread {
	t := c.factor().r
	m := mat.NewDense(3, 3, nil)
	for i := 0; i < 3; i++ {
		for j := i; j < 3; j++ {
			m.Set(i, j, t.at(i, j))
		}
	}
	var svd mat.SVD
	var s spread
	if !svd.Factorize(m, mat.SVDThinV) {
		return s // cannot happen for finite input
	}
	var v mat.Dense
	svd.VTo(&v)
	svd.Values(s.value[:])
	for j := range s.axis {
		s.axis[j] = r3.Vec{X: v.At(0, j), Y: v.At(1, j), Z: v.At(2, j)}
	}
	return s
}

// roughSpread is spread for those who want no more than the first ten digits:
// from the scatter matrix, unless the points are thin.
func (c *cloud) roughSpread() spread {
	mean := c.centroid()
	m := symmetric{n: 3}
	n := float64(c.len())
	for i, u := range [3][]float64{c.x, c.y, c.z} {
		for j, v := range [3][]float64{c.x, c.y, c.z} {
			if j <= i {
				m.a[i][j] = floats.Dot(u, v) - n*mean[i]*mean[j]
			}
		}
	}
	values, vectors := m.eigen()
	if !(values[0] > 1e-6*values[2]) || c.len() <= sparse {
		return c.spread()
	}
	var s spread
	for j := range s.axis {
		s.axis[j], s.value[j] = vec(vectors[2-j]), math.Sqrt(values[2-j])
	}
	return s
}

// rank counts the directions in which the points extend beyond rounding.
func (s spread) rank(c *cloud) int {
	limit := max(1e-12*s.value[0], 4*c.round*math.Sqrt(float64(c.len())))
	for i, v := range s.value {
		if v <= limit {
			return i
		}
	}
	return 3
}
