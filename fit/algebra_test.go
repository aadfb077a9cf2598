package fit

import (
	"math"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// Taubin's fit of the points of Gander, Golub and Strebel lies between the
// linear fit's radius (4.10876) and the geometric one (4.71423), and an exact
// circle, sphere or line comes out exactly.
func TestTaubin(t *testing.T) {
	pts := publishedCases(t)[0].points()
	q, ok := taubin(2, len(pts), func(i int) [3]float64 { return [3]float64{pts[i].X, pts[i].Y} })
	if !ok {
		t.Fatal("no circle")
	}
	_, _, k, ok := q.bend()
	if r := 1 / k; !ok || r < 4.10876 || r > 6 {
		t.Errorf("radius %g", r)
	}
	for _, dim := range []int{2, 3} {
		for _, r := range []float64{1e-3, 1, 50} {
			at := func(i int) [3]float64 {
				s, c := math.Sincos(float64(i) * 0.37)
				s2, c2 := math.Sincos(float64(i) * 0.11)
				if dim == 2 {
					return [3]float64{2 + r*c, -1 + r*s}
				}
				return [3]float64{2 + r*c*c2, -1 + r*s*c2, 3 + r*s2}
			}
			q, _ := taubin(dim, 20, at)
			n, s, k, ok := q.bend()
			if !ok {
				t.Fatal("no circle")
			}
			wantRel(t, "radius", 1/k, r, 1e-14*(1+25/(r*r)))
			wantAbs(t, "centre x", n[0]*(s+1/k), 2, 1e-9*(1+r))
			wantAbs(t, "centre y", n[1]*(s+1/k), -1, 1e-9*(1+r))
		}
	}
	q, _ = taubin(2, 9, func(i int) [3]float64 { return [3]float64{float64(i), 3} })
	n, s, k, ok := q.bend()
	if !ok || math.Abs(k) > 1e-12 || math.Abs(s*n[1]-3) > 1e-12 || math.Abs(n[0]) > 1e-12 {
		t.Errorf("the line y = 3: normal %v, offset %g, curvature %g", n, s, k)
	}
	if _, ok := taubin(2, 4, func(int) [3]float64 { return [3]float64{1, 1} }); ok {
		t.Error("a circle through one point four times")
	}
	if _, _, _, ok := (quadratic{a: 1, c: 1}).bend(); ok {
		t.Error("x^2 + y^2 + 1 = 0 is a circle")
	}
}

// chord is |q - n/k| - 1/k, and goes on through k = 0.
func TestChord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawVec(t, 2)
		k := rapid.Float64Range(0.01, 5).Draw(t, "k")
		n := r3.Vec{X: 1}
		s := k * r3.Norm(r3.Sub(q, r3.Scale(1/k, n)))
		want := r3.Norm(r3.Sub(q, r3.Scale(1/k, n))) - 1/k
		if got := chord(q.X, r3.Norm2(q), k, s); math.Abs(got-want) > 1e-13/k {
			t.Fatalf("%g, want %g", got, want)
		}
		tiny := k * 1e-12
		if got := chord(q.X, r3.Norm2(q), tiny, 1-tiny*q.X); math.Abs(got+q.X) > 1e-10 {
			t.Fatalf("curvature %g: %g, want %g", tiny, got, -q.X)
		}
	})
}

// The small eigensolver against gonum's.
func TestEigenAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewSource(4))
	for rep := range 200 {
		n := 2 + rep%3
		s := symmetric{n: n}
		for range n + rep%2 - 1 + 1 {
			var v [4]float64
			for j := range n {
				v[j] = r.NormFloat64() * math.Pow(10, float64(r.Intn(4)))
			}
			s.add(1, &v)
		}
		d := mat.NewSymDense(n, nil)
		for i := range n {
			for j := range i + 1 {
				d.SetSym(i, j, s.a[i][j])
			}
		}
		var e mat.EigenSym
		if !e.Factorize(d, false) {
			t.Fatal("no factorisation")
		}
		want := e.Values(nil)
		values, vectors := s.eigen()
		top := math.Abs(want[n-1])
		for i := range n {
			wantAbs(t, "eigenvalue", values[i], want[i], 1e-13*top)
			for a := range n {
				sum := 0.0
				for b := range n {
					sum += d.At(a, b) * vectors[i][b]
				}
				wantAbs(t, "A v", sum, values[i]*vectors[i][a], 1e-13*top)
			}
		}
	}
}

// The block-wise triangle against gonum's QR of the whole matrix.
func TestTriangleAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		m := rapid.IntRange(n+1, 900).Draw(t, "m")
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		a := mat.NewDense(m, n+1, nil)
		for i := range m {
			for j := range n + 1 {
				a.Set(i, j, r.NormFloat64())
			}
		}
		tri := newTriangle(n)
		for lo := 0; lo < m; {
			hi := min(m, lo+1+r.Intn(blockRows))
			cols := make([][]float64, n+1)
			for j := range cols {
				cols[j] = mat.Col(nil, j, a)[lo:hi]
			}
			tri.absorb(cols)
			lo = hi
		}
		var qr mat.QR
		qr.Factorize(a)
		var want mat.Dense
		qr.RTo(&want)
		for i := range n {
			sign := 1.0
			if tri.at(i, i)*want.At(i, i) < 0 {
				sign = -1
			}
			for j := i; j <= n; j++ {
				if e := math.Abs(tri.at(i, j) - sign*want.At(i, j)); e > 1e-12*math.Sqrt(float64(m)) {
					t.Fatalf("R[%d][%d] off by %g", i, j, e)
				}
			}
		}
		last := mat.Col(nil, n, a)
		if ss := mat.Dot(mat.NewVecDense(m, last), mat.NewVecDense(m, last)); math.Abs(tri.ss-ss) > 1e-12*ss || tri.rows != m {
			t.Fatalf("sum of squares %g, want %g; %d rows", tri.ss, ss, tri.rows)
		}
		if c := tri.condition(); !(c > 0 && c <= 1) {
			t.Fatalf("condition %g", c)
		}
	})
}

func TestTriangleSingular(t *testing.T) {
	tri := newTriangle(2)
	tri.absorb([][]float64{{1, 2, 3}, {2, 4, 6}, {1, 1, 1}})
	if c := tri.condition(); c > 1e-15 {
		t.Errorf("condition %g of parallel columns", c)
	}
	zero := newTriangle(2)
	zero.absorb([][]float64{{1, 2, 3}, {0, 0, 0}, {1, 1, 1}})
	if zero.condition() != 0 || zero.inverse() != nil {
		t.Error("a zero column passes")
	}
	huge := newTriangle(1)
	huge.absorb([][]float64{{1e-200, 1e-160}, {1, 1}})
	if x := []float64{0}; true {
		huge.solve(x)
		wantAbs(t, "solution of an underflowing column", x[0], 0, 0)
	}
}

// Poses stay orthonormal however they are made and moved.
func TestPoses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawDirection(t)
		toward := r3.Add(r3.Scale(rapid.Float64Range(-5, 5).Draw(t, "along"), a), r3.Scale(rapid.SampledFrom([]float64{0, 1e-15, 1e-9, 1e-4, 1}).Draw(t, "little"), drawVec(t, 1)))
		p := poseAlong(a, toward)
		for _, q := range []pose{p, p.aboutAxis(), p.reversed(), p.moved(drawVec(t, 1), 0.7, -0.3, 1.2), p.moved(r3.Vec{}, 0, 0, 0)} {
			for _, e := range []float64{
				r3.Norm(q.n) - 1, r3.Norm(q.t) - 1, r3.Norm(q.a) - 1, r3.Dot(q.n, q.t), r3.Dot(q.t, q.a), r3.Dot(q.a, q.n),
				r3.Dot(r3.Cross(q.n, q.t), q.a) - 1,
			} {
				if math.Abs(e) > 1e-15*5 {
					t.Fatalf("not orthonormal by %g: %+v", e, q)
				}
			}
		}
		// A turn about the origin moves the surface point rigidly.
		p.s = drawVec(t, 1)
		q := p.moved(r3.Vec{}, 0, 0.4, -0.9)
		w := r3.Add(r3.Scale(0.4, p.n), r3.Scale(-0.9, p.t))
		if e := r3.Norm(r3.Sub(q.world(q.s), turned(p.world(p.s), w))); e > 1e-14 {
			t.Fatalf("surface point off by %g", e)
		}
		// A swing about a leaves it where it is.
		q = p.moved(r3.Vec{}, 1.1, 0, 0)
		if e := r3.Norm(r3.Sub(q.world(q.s), p.world(p.s))); e > 1e-14 {
			t.Fatalf("surface point off by %g", e)
		}
	})
}

func TestSigned(t *testing.T) {
	h := math.Sqrt(0.5)
	for _, c := range []struct{ in, want r3.Vec }{
		{r3.Vec{Z: -1}, r3.Vec{Z: 1}},
		{r3.Vec{X: -0.6, Y: 0.8}, r3.Vec{X: -0.6, Y: 0.8}},
		{r3.Vec{X: 0.6, Y: -0.8}, r3.Vec{X: -0.6, Y: 0.8}},
		{r3.Vec{X: -h, Y: h * (1 + 1e-15)}, r3.Vec{X: h, Y: -h * (1 + 1e-15)}},
		{r3.Vec{X: -h * (1 + 1e-15), Y: h}, r3.Vec{X: h * (1 + 1e-15), Y: -h}},
	} {
		if got := signed(c.in); got != c.want {
			t.Errorf("signed(%v) = %v, want %v", c.in, got, c.want)
		}
	}
}

// With all parameters at zero displacement the derivative of the datum, as the
// sensitivity has it, is what differences over Try give.
func TestSensitivities(t *testing.T) {
	r := rand.New(rand.NewSource(17))
	for range 10 {
		c := randomCloud(r, 10)
		cone, torus, circle := newConeModel(c), newTorusModel(c), newCircleModel(c)
		cone.cone = taper{ring: randomRing(r, 0.7), psi: 0.5}
		torus.torus = hoop{ring: randomRing(r, 0.4), psi: 2 + r.Float64(), tube: 1.3}
		circle.ring = randomRing(r, 0.8)
		for _, m := range []model{
			circle, cone, torus,
			&sphereModel{c: c, ball: ball(randomRing(r, 0.8))},
			&cylinderModel{c: c, ring: randomRing(r, 0.8)},
		} {
			checkSensitivity(t, m)
		}
	}
}

func checkSensitivity(t *testing.T, m model) {
	t.Helper()
	_, n := m.Size()
	s := m.sensitivity()
	base := m.datum()
	at := func(j int, h float64) Datum {
		d := make([]float64, n)
		d[j] = h
		k := m.clone()
		k.Try(d)
		k.Accept()
		return k.datum()
	}
	const h = 1e-6
	for j := range n {
		a, b := at(j, h), at(j, -h)
		diff := func(x, y float64) float64 { return (x - y) / (2 * h) }
		length := func(rows [][]float64) float64 {
			sum := 0.0
			for _, row := range rows {
				sum += row[j] * row[j]
			}
			return math.Sqrt(sum)
		}
		kind := string(m.kind())
		if s.axis != nil {
			wantAbs(t, kind+" axis", length(s.axis), r3.Norm(r3.Sub(a.Axis, b.Axis))/(2*h), 1e-7)
		}
		move := r3.Scale(1/(2*h), r3.Sub(a.Origin, b.Origin))
		if m.kind() == Cylinder { // the point nearest the centroid moves across
			move = r3.Sub(move, r3.Scale(r3.Dot(move, base.Axis), base.Axis))
		}
		wantAbs(t, kind+" origin", length(s.origin), r3.Norm(move), 1e-6*(1+r3.Norm(move)))
		for _, q := range []struct {
			row  []float64
			want float64
		}{
			{s.radius, diff(a.Radius, b.Radius)},
			{s.radius2, diff(a.Radius2, b.Radius2)},
			{s.half, diff(a.HalfAngle, b.HalfAngle)},
		} {
			if q.row != nil {
				wantAbs(t, kind+" size", q.row[j], q.want, 1e-7*(1+math.Abs(q.want)))
			}
		}
	}
}
