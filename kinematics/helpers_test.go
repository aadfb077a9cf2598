package kinematics

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// failer is what the checks need of *testing.T and *rapid.T.
type failer interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

func near(t failer, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.17g, want %.17g: off by %.3g, tolerance %.3g", what, got, want, got-want, tol)
	}
}

func nearVec(t failer, what string, got, want r3.Vec, tol float64) {
	t.Helper()
	if d := r3.Norm(r3.Sub(got, want)); !(d <= tol) {
		t.Errorf("%s = %v, want %v: off by %.3g, tolerance %.3g", what, got, want, d, tol)
	}
}

// nearRows compares two motions entry by entry and prints both where they differ.
func nearRows(t failer, what string, got, want Transform, tol float64) {
	t.Helper()
	g, w := got.Rows(), want.Rows()
	for i := range 3 {
		for j := range 4 {
			if d := math.Abs(g[i][j] - w[i][j]); !(d <= tol) {
				t.Errorf("%s: entry %d,%d off by %.3g, tolerance %.3g\ngot  %v\nwant %v", what, i, j, g[i][j]-w[i][j], tol, g, w)
				return
			}
		}
	}
}

func nearFrame(t failer, what string, got, want Frame, tol float64) {
	t.Helper()
	nearRows(t, what, got.Transform(), want.Transform(), tol)
}

func nearQuaternion(t failer, what string, got, want Quaternion, tol float64) {
	t.Helper()
	for i := range got {
		if !(math.Abs(got[i]-want[i]) <= tol) {
			t.Errorf("%s = %v, want %v, tolerance %.3g", what, got, want, tol)
			return
		}
	}
}

// rows makes a motion of the numbers of a 3x4 matrix, row by row.
func rows(m ...float64) Transform {
	var r [3][4]float64
	for i, v := range m {
		r[i/4][i%4] = v
	}
	return FromRows(r)
}

// rot makes a motion of the numbers of a 3x3 matrix, row by row.
func rot(m ...float64) Transform {
	return rows(m[0], m[1], m[2], 0, m[3], m[4], m[5], 0, m[6], m[7], m[8], 0)
}

func v3(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }

func deg(d float64) float64 { return d * math.Pi / 180 }

// unit is Unit for directions that are known to have one.
func unit(v r3.Vec) r3.Vec { return r3.Scale(1/r3.Norm(v), v) }

// about is the axis through p along d of any length.
func about(p, d r3.Vec) Axis { return Axis{Point: p, Dir: unit(d)} }

// Generators. Directions are even over the sphere, so that no property hides
// behind a favoured axis.

func genUnit() *rapid.Generator[r3.Vec] {
	return rapid.Custom(func(t *rapid.T) r3.Vec {
		z := rapid.Float64Range(-1, 1).Draw(t, "z")
		a := rapid.Float64Range(0, 2*math.Pi).Draw(t, "a")
		s := math.Sqrt(1 - z*z)
		return unit(v3(s*math.Cos(a), s*math.Sin(a), z))
	})
}

func genPoint(size float64) *rapid.Generator[r3.Vec] {
	c := rapid.Float64Range(-size, size)
	return rapid.Custom(func(t *rapid.T) r3.Vec { return v3(c.Draw(t, "x"), c.Draw(t, "y"), c.Draw(t, "z")) })
}

func genAxis(size float64) *rapid.Generator[Axis] {
	return rapid.Custom(func(t *rapid.T) Axis {
		return Axis{Point: genPoint(size).Draw(t, "point"), Dir: genUnit().Draw(t, "dir")}
	})
}

func genMotion(size float64) *rapid.Generator[Transform] {
	return rapid.Custom(func(t *rapid.T) Transform {
		x := Rotation(Axis{Dir: genUnit().Draw(t, "dir")}, rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "angle"))
		x.T = genPoint(size).Draw(t, "shift")
		return x
	})
}

func genFrame(size float64) *rapid.Generator[Frame] {
	return rapid.Custom(func(t *rapid.T) Frame { return FrameOf(genMotion(size).Draw(t, "pose")) })
}

// dense returns the homogeneous 4x4 matrix of x, for the plain-matrix oracle.
func dense(x Transform) *mat.Dense {
	m := mat.NewDense(4, 4, nil)
	for i, r := range x.Rows() {
		m.SetRow(i, r[:])
	}
	m.Set(3, 3, 1)
	return m
}

func fromDense(m mat.Matrix) Transform {
	var r [3][4]float64
	for i := range 3 {
		for j := range 4 {
			r[i][j] = m.At(i, j)
		}
	}
	return FromRows(r)
}

// twistMatrix is the 4x4 matrix of a twist, whose matrix exponential is its Exp.
func twistMatrix(w Twist) *mat.Dense {
	a, l := w.Angular, w.Linear
	return mat.NewDense(4, 4, []float64{
		0, -a.Z, a.Y, l.X,
		a.Z, 0, -a.X, l.Y,
		-a.Y, a.X, 0, l.Z,
		0, 0, 0, 0,
	})
}

// wantText fails unless err is there and its whole text is want.
func wantText(t *testing.T, err error, want string) {
	t.Helper()
	if got := fmt.Sprint(err); got != want {
		t.Errorf("error\n%s\nwant\n%s", got, want)
	}
}
