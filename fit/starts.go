package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	gridSize   = 64 // directions of the hemisphere grid, about 18 deg apart
	neighbours = 8  // points that one estimated normal rests on
	goldenTurn = 2.399963229728653
)

// guesses lists the axes worth trying for a surface of revolution: the
// principal directions, those of the osculating paraboloid (which find the
// axis of a shallow patch), those that the normals tell, and a grid over the
// hemisphere, so that no orientation is far from a start.
func (c *cloud) guesses(s spread) []guess {
	var list []guess
	for _, a := range s.axis {
		list = append(list, guess{dir: a})
	}
	list = append(list, s.aroundLong()...)
	if p, ok := c.paraboloid(s); ok {
		list = append(list, guess{dir: p.dir[0]}, guess{dir: p.dir[1]})
	}
	n := c
	if c.nx == nil {
		n = c.withNormals()
	}
	list = append(list, n.normalGuesses()...)
	return append(list, hemisphere(gridSize)...)
}

// aroundLong returns directions about the longest one, as far off as the
// slenderness of the points leaves it open.
func (s spread) aroundLong() []guess {
	if !(s.value[0] > 0) {
		return nil
	}
	const around = 8
	list := make([]guess, around)
	for i := range list {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / around)
		off := r3.Add(r3.Scale(cos*s.value[1]/s.value[0], s.axis[1]), r3.Scale(sin*s.value[2]/s.value[0], s.axis[2]))
		list[i].dir = r3.Unit(r3.Add(s.axis[0], off))
	}
	return list
}

// hemisphere returns n directions spread evenly by the golden angle.
func hemisphere(n int) []guess {
	list := make([]guess, n)
	for i := range list {
		z := (float64(i) + 0.5) / float64(n)
		sin, cos := math.Sincos(float64(i) * goldenTurn)
		r := math.Sqrt(1 - z*z)
		list[i].dir = r3.Vec{X: r * cos, Y: r * sin, Z: z}
	}
	return list
}

// withNormals returns the cloud with normals estimated from the nearest
// neighbours of each point; the time is quadratic in the number of points.
func (c *cloud) withNormals() *cloud {
	d := *c
	n := c.len()
	buf := make([]float64, 3*n)
	d.nx, d.ny, d.nz = buf[:n], buf[n:2*n], buf[2*n:]
	if n < neighbours {
		return &d
	}
	near := make([]neighbour, neighbours)
	for i := 0; i < n; i++ {
		c.nearest(i, near)
		s := symmetric{n: 3}
		var mean r3.Vec
		for _, q := range near {
			mean = r3.Add(mean, r3.Scale(1.0/neighbours, c.at(q.index)))
		}
		for _, q := range near {
			e := r3.Sub(c.at(q.index), mean)
			s.add(1, &[4]float64{e.X, e.Y, e.Z})
		}
		_, v := s.eigen()
		d.nx[i], d.ny[i], d.nz[i] = v[0][0], v[0][1], v[0][2]
	}
	return &d
}

type neighbour struct {
	square float64
	index  int
}

// nearest fills near with the points nearest to point i, itself among them.
func (c *cloud) nearest(i int, near []neighbour) {
	for k := range near {
		near[k].square = math.Inf(1)
	}
	p := c.at(i)
	last := len(near) - 1
	for j := range c.x {
		x, y, z := c.x[j]-p.X, c.y[j]-p.Y, c.z[j]-p.Z
		sq := x*x + y*y + z*z
		if sq >= near[last].square {
			continue
		}
		k := last
		for ; k > 0 && near[k-1].square > sq; k-- {
			near[k] = near[k-1]
		}
		near[k] = neighbour{square: sq, index: j}
	}
}

// normalGuesses reads axes from the normals. On a cylinder they lie in a plane
// through the origin of the Gauss image, on a cone in a plane off it. Every
// normal of a surface of revolution meets the axis, so the axis' Plücker
// coordinates (a, m) minimise sum (a.(p x n) + m.n)^2: the linear line complex
// of Pottmann and Randrup, Rotational and helical surface approximation for
// reverse engineering (1998).
func (c *cloud) normalGuesses() []guess {
	gauss, centred := symmetric{n: 3}, symmetric{n: 3}
	moment, mixed := symmetric{n: 3}, [3][3]float64{}
	var mean r3.Vec
	for i := range c.x {
		n := c.normal(i)
		if r3.Dot(n, c.at(i)) < 0 {
			n = r3.Scale(-1, n) // one side, as far as the centroid tells
		}
		mean = r3.Add(mean, r3.Scale(1/float64(c.len()), n))
	}
	for i := range c.x {
		n := c.normal(i)
		q := r3.Cross(c.at(i), n)
		gauss.add(1, &[4]float64{n.X, n.Y, n.Z})
		moment.add(1, &[4]float64{q.X, q.Y, q.Z})
		for j, x := range [3]float64{q.X, q.Y, q.Z} {
			for k, y := range [3]float64{n.X, n.Y, n.Z} {
				mixed[j][k] += x * y
			}
		}
		if r3.Dot(n, c.at(i)) < 0 {
			n = r3.Scale(-1, n)
		}
		n = r3.Sub(n, mean)
		centred.add(1, &[4]float64{n.X, n.Y, n.Z})
	}
	values, vectors := gauss.eigen()
	if values[2] == 0 {
		return nil
	}
	list := []guess{{dir: vec(vectors[0])}}
	_, v := centred.eigen()
	list = append(list, guess{dir: vec(v[0])})
	return append(list, lineComplex(&moment, &mixed, values, vectors)...)
}

func vec(v [4]float64) r3.Vec { return r3.Vec{X: v[0], Y: v[1], Z: v[2]} }

// lineComplex eliminates m by the pseudo-inverse of the normals' scatter and
// returns the two best axes: a short bent tube is almost a straight one.
func lineComplex(moment *symmetric, mixed *[3][3]float64, values [4]float64, vectors [4][4]float64) []guess {
	var inverse [3][3]float64
	for e := 0; e < 3; e++ {
		if values[e] < 1e-3*values[2] {
			continue
		}
		for i := range inverse {
			for j := range inverse[i] {
				inverse[i][j] += vectors[e][i] * vectors[e][j] / values[e]
			}
		}
	}
	var gain [3][3]float64 // mixed inverse
	for i := range gain {
		for j := range gain[i] {
			for k := range inverse {
				gain[i][j] += mixed[i][k] * inverse[k][j]
			}
		}
	}
	reduced := *moment
	for i := 0; i < 3; i++ {
		for j := 0; j <= i; j++ {
			for k := 0; k < 3; k++ {
				reduced.a[i][j] -= gain[i][k] * mixed[j][k]
			}
		}
	}
	_, axes := reduced.eigen()
	var list []guess
	for _, v := range axes[:2] {
		a := vec(v)
		m := r3.Vec{
			X: -(gain[0][0]*a.X + gain[1][0]*a.Y + gain[2][0]*a.Z),
			Y: -(gain[0][1]*a.X + gain[1][1]*a.Y + gain[2][1]*a.Z),
			Z: -(gain[0][2]*a.X + gain[1][2]*a.Y + gain[2][2]*a.Z),
		}
		list = append(list, guess{dir: a, point: r3.Cross(a, m), located: true})
	}
	return list
}

// trial is one start and where it led.
type trial struct {
	m      model
	dir    r3.Vec
	ss     float64
	factor *triangle // of the Jacobian at the state, if it is at hand
}

// tryGuesses starts the model, bound to a cloud, from every guess and returns
// the starts that worked by rising sum of squares.
func tryGuesses(m model, list []guess) []trial {
	var out []trial
	for _, g := range list {
		if !m.begin(g) {
			continue
		}
		if ss := sumSquares(m); !math.IsNaN(ss) && !math.IsInf(ss, 0) {
			out = append(out, trial{m: m.clone(), dir: g.dir, ss: ss})
		}
	}
	slices.SortStableFunc(out, func(a, b trial) int { return compare(a.ss, b.ss) })
	return out
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// spreadOut takes n starts in order of merit, first those whose directions
// differ by more than about half the grid's spacing, then the rest.
func spreadOut(list []trial, n int) []trial {
	var chosen, rest []trial
	for _, t := range list {
		near := slices.ContainsFunc(chosen, func(c trial) bool { return lineAngle(c.dir, t.dir) < 0.15 })
		if near {
			rest = append(rest, t)
		} else {
			chosen = append(chosen, t)
		}
	}
	chosen = append(chosen, rest...)
	return chosen[:min(n, len(chosen))]
}

// sumSquares evaluates the model at its current state.
func sumSquares(m Problem) float64 {
	var r [blockRows]float64
	rows, _ := m.Size()
	ss := 0.0
	for lo := 0; lo < rows; lo += blockRows {
		hi := min(lo+blockRows, rows)
		m.Eval(lo, hi, r[:hi-lo], nil)
		for _, v := range r[:hi-lo] {
			ss += v * v
		}
	}
	return ss
}
