package kinematics

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// Published values: K. M. Lynch, F. C. Park, Modern Robotics (Cambridge 2017),
// docstrings of the book's code library (8 digits), continued to 15 digits by an
// independent 30-digit calculation.
func TestRotationPublished(t *testing.T) {
	// MatrixExp3 of the rotation vector (1, 2, 3).
	got := Rotation(about(r3.Vec{}, v3(1, 2, 3)), math.Sqrt(14))
	nearRows(t, "exp (1,2,3)", got, rot(
		-0.694920557641312, 0.713520990527788, 0.0892928588619121,
		-0.192006972791999, -0.30378504433947, 0.933192353823647,
		0.69297816774177, 0.631349699383718, 0.348107477830265), 1e-14)
	// MatrixLog3: 2 pi/(3 sqrt 3) in each component.
	log := rot(0, 0, 1, 1, 0, 0, 0, 1, 0).Log()
	c := 2 * math.Pi / (3 * math.Sqrt(3))
	nearVec(t, "log of the cyclic permutation", log.Angular, v3(c, c, c), 1e-14)
	// TransInv.
	nearRows(t, "inverse", rows(1, 0, 0, 0, 0, 0, -1, 0, 0, 1, 0, 3).Inverse(), rows(1, 0, 0, 0, 0, 0, 1, -3, 0, -1, 0, 0), 0)
}

func TestOrthonormalisePublished(t *testing.T) {
	// ProjectToSO3, same source.
	got, err := rot(0.675, 0.150, 0.720, 0.370, 0.771, -0.511, -0.630, 0.619, 0.472).Orthonormalise()
	if err != nil {
		t.Fatal(err)
	}
	nearRows(t, "nearest rotation", got, rot(
		0.679011360677236, 0.148945161515509, 0.71885945144539,
		0.373207078822845, 0.773195843934947, -0.512722793757254,
		-0.632186719559789, 0.616428037797474, 0.469421373426252), 1e-14)
	if err := got.Check(1e-15 * 8); err != nil {
		t.Error(err)
	}
}

// Rotation sequences: D. M. Henderson, NASA TM-74839 (1977), all twelve at (10,
// 20, 30) degrees; quaternions x, y, z, w recomputed to 30 digits.
func TestSequencesPublished(t *testing.T) {
	for _, c := range []struct {
		order string
		want  Quaternion
	}{
		{"XYZ", Quaternion{0.127679440695781, 0.144878125417369, 0.268535822751569, 0.943714364147489}},
		{"XZY", Quaternion{0.0381345764748501, 0.23929833774473, 0.189307857412, 0.951548524643789}},
		{"YXZ", Quaternion{0.189307857412, 0.0381345764748501, 0.23929833774473, 0.951548524643789}},
		{"YZX", Quaternion{0.268535822751569, 0.127679440695781, 0.144878125417369, 0.943714364147489}},
		{"ZXY", Quaternion{0.144878125417369, 0.268535822751569, 0.127679440695781, 0.943714364147489}},
		{"ZYX", Quaternion{0.23929833774473, 0.189307857412, 0.0381345764748501, 0.951548524643789}},
		{"XYX", Quaternion{0.336824088833465, 0.171010071662834, -0.0301536896070458, 0.925416578398323}},
		{"XZX", Quaternion{0.336824088833465, 0.0301536896070458, 0.171010071662834, 0.925416578398323}},
		{"YXY", Quaternion{0.171010071662834, 0.336824088833465, 0.0301536896070458, 0.925416578398323}},
		{"YZY", Quaternion{-0.0301536896070458, 0.336824088833465, 0.171010071662834, 0.925416578398323}},
		{"ZXZ", Quaternion{0.171010071662834, -0.0301536896070458, 0.336824088833465, 0.925416578398323}},
		{"ZYZ", Quaternion{0.0301536896070458, 0.171010071662834, 0.336824088833465, 0.925416578398323}},
	} {
		x, q := Identity(), Quaternion{3: 1}
		for i, r := range c.order {
			axis, _ := Letter(r).Vec()
			turn := Rotation(Axis{Dir: axis}, deg(float64(10*(i+1))))
			x, q = x.Mul(turn), q.Mul(turn.Quaternion())
		}
		nearQuaternion(t, c.order+" by matrices", x.Quaternion(), c.want, 1e-14)
		nearQuaternion(t, c.order+" by quaternions", q, c.want, 1e-14)
		back, err := c.want.Transform()
		if err != nil {
			t.Fatal(err)
		}
		nearRows(t, c.order+" back", back, x, 1e-14)
	}
}

// Quaternion facts in closed form: order x, y, z, w as in glTF 2.0.
func TestQuaternionClosedForm(t *testing.T) {
	s15, c15 := math.Sincos(deg(15))
	for _, c := range []struct {
		name string
		x    Transform
		want Quaternion
	}{
		{"identity", Identity(), Quaternion{0, 0, 0, 1}},
		{"120 deg about (1,1,1)", rot(0, 0, 1, 1, 0, 0, 0, 1, 0), Quaternion{0.5, 0.5, 0.5, 0.5}},
		{
			"half turn about (1,2,2)",
			rot(-7./9, 4./9, 4./9, 4./9, -1./9, 8./9, 4./9, 8./9, -1./9),
			Quaternion{1. / 3, 2. / 3, 2. / 3, 0},
		},
		{"half turn about -y", rot(-1, 0, 0, 0, 1, 0, 0, 0, -1), Quaternion{0, 1, 0, 0}},
		{"half turn about z", rot(-1, 0, 0, 0, -1, 0, 0, 0, 1), Quaternion{0, 0, 1, 0}},
		{
			"shortest arc (1,0,0) to (1,2,2)/3",
			Rotation(Axis{Dir: unit(v3(0, -1, 1))}, Angle(v3(1, 0, 0), v3(1, 2, 2))),
			Quaternion{0, -0.408248290463863, 0.408248290463863, 0.816496580927726},
		},
		{
			"roll, pitch, yaw 0.1, 0.2, 0.3 about fixed axes",
			rot(
				0.936293363584199, -0.275095847318244, 0.218350663146334,
				0.289629477625516, 0.956425085849232, -0.0369570135246251,
				-0.198669330795061, 0.0978433950072557, 0.975170327201816),
			Quaternion{0.0342707985504821, 0.106020511061796, 0.143572175027392, 0.983347443256356},
		},
		{
			"Rz(30) Rx(30)",
			Rotation(Axis{Dir: v3(0, 0, 1)}, deg(30)).Mul(Rotation(Axis{Dir: v3(1, 0, 0)}, deg(30))),
			Quaternion{s15 * c15, s15 * s15, s15 * c15, c15 * c15},
		},
	} {
		nearQuaternion(t, c.name, c.x.Quaternion(), c.want, 1e-14)
	}
}

func TestTransformGroupLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y, z := genMotion(10).Draw(t, "x"), genMotion(10).Draw(t, "y"), genMotion(10).Draw(t, "z")
		p := genPoint(10).Draw(t, "p")
		const tol = 1e-13
		nearRows(t, "x (y z) = (x y) z", x.Mul(y.Mul(z)), x.Mul(y).Mul(z), tol)
		nearRows(t, "x x^-1", x.Mul(x.Inverse()), Identity(), tol)
		nearRows(t, "x^-1 x", x.Inverse().Mul(x), Identity(), tol)
		nearRows(t, "1 x", Identity().Mul(x), x, 0)
		nearVec(t, "(x y) p", x.Mul(y).Apply(p), x.Apply(y.Apply(p)), tol)
		if err := x.Mul(y).Check(tol); err != nil {
			t.Errorf("product: %v", err)
		}
		nearRows(t, "rows", FromRows(x.Rows()), x, 0)
	})
}

func TestRotationProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := genAxis(10).Draw(t, "axis")
		s := rapid.Float64Range(-7, 7).Draw(t, "s")
		u := rapid.Float64Range(-7, 7).Draw(t, "u")
		p, w := genPoint(10).Draw(t, "p"), genMotion(10).Draw(t, "world")
		const tol = 3e-13
		nearRows(t, "angles add", Rotation(a, s).Mul(Rotation(a, u)), Rotation(a, s+u), tol)
		nearVec(t, "axis stays", Rotation(a, s).Apply(a.At(u)), a.At(u), tol)
		nearRows(t, "world motion", w.Mul(Rotation(a, s)).Mul(w.Inverse()), Rotation(w.Axis(a), s), tol)
		near(t, "distance from the axis", a.Distance(Rotation(a, s).Apply(p)), a.Distance(p), tol)
		if a.Distance(p) > 1e-3 {
			got := SignedAngle(a.Offset(p), a.Offset(Rotation(a, s).Apply(p)), a.Dir)
			near(t, "sense of the turn", wrap(got-s), 0, 1e-9)
		}
	})
}

func TestQuaternionRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := genMotion(0).Draw(t, "x"), genMotion(0).Draw(t, "y")
		q := x.Quaternion()
		back, err := q.scaled(rapid.Float64Range(1e-100, 1e100).Draw(t, "length")).Transform()
		if err != nil {
			t.Fatalf("%v", err)
		}
		nearRows(t, "back", back, x, 1e-14)
		near(t, "length", q.norm(), 1, 1e-15)
		if q[3] < 0 {
			t.Errorf("quaternion %v has a negative real part", q)
		}
		product, err := q.Mul(y.Quaternion()).Transform()
		if err != nil {
			t.Fatalf("%v", err)
		}
		nearRows(t, "product", product, x.Mul(y), 1e-14)
	})
}

func TestOrthonormaliseProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := genMotion(10).Draw(t, "x")
		got, err := x.Orthonormalise()
		if err != nil {
			t.Fatalf("%v", err)
		}
		nearRows(t, "a rotation is its own nearest", got, x, 1e-13)
		// Small noise moves the answer by no more than the noise, and the answer is
		// nearer to the noisy matrix than the rotation it came from.
		noise := genMotion(0).Draw(t, "noise")
		rough := x
		rough.X = r3.Add(x.X, r3.Scale(1e-3, noise.X))
		rough.Y = r3.Add(x.Y, r3.Scale(1e-3, noise.Y))
		got, err = rough.Orthonormalise()
		if err != nil {
			t.Fatalf("%v", err)
		}
		if err := got.Check(1e-13); err != nil {
			t.Errorf("%v", err)
		}
		if a, b := squaredDistance(got, rough), squaredDistance(x, rough); a > b+1e-15 {
			t.Errorf("squared distance %.3g, but another rotation is at %.3g", a, b)
		}
	})
}

func squaredDistance(a, b Transform) float64 {
	return r3.Norm2(r3.Sub(a.X, b.X)) + r3.Norm2(r3.Sub(a.Y, b.Y)) + r3.Norm2(r3.Sub(a.Z, b.Z))
}

// Oracle: plain 4x4 matrices.
func TestTransformAgainstMatrices(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := genMotion(10).Draw(t, "x"), genMotion(10).Draw(t, "y")
		var product, inverse mat.Dense
		product.Mul(dense(x), dense(y))
		nearRows(t, "product", x.Mul(y), fromDense(&product), 1e-14)
		if err := inverse.Inverse(dense(x)); err != nil {
			t.Fatalf("%v", err)
		}
		nearRows(t, "inverse", x.Inverse(), fromDense(&inverse), 1e-13)
	})
}

func TestUnit(t *testing.T) {
	for _, c := range []struct{ v, want r3.Vec }{
		{v3(3, 0, 4), v3(0.6, 0, 0.8)},
		{v3(3e200, 0, 4e200), v3(0.6, 0, 0.8)},
		{v3(3e-200, 0, -4e-200), v3(0.6, 0, -0.8)},
		{v3(0, math.MaxFloat64, 0), v3(0, 1, 0)},
	} {
		got, err := Unit(c.v, "test")
		if err != nil {
			t.Errorf("Unit(%v): %v", c.v, err)
		}
		nearVec(t, "unit", got, c.want, 1e-15)
	}
	rapid.Check(t, func(t *rapid.T) {
		u := genUnit().Draw(t, "u")
		once, err := Unit(r3.Scale(rapid.Float64Range(1e-200, 1e200).Draw(t, "s"), u), "test")
		if err != nil {
			t.Fatalf("%v", err)
		}
		twice, err := Unit(once, "test")
		if err != nil || twice != once {
			t.Errorf("second Unit of %v gives %v, %v", once, twice, err)
		}
		nearVec(t, "unit", once, u, 1e-15)
	})
}

// Angles keep their digits where the arc cosine would lose them all.
func TestAngleNearParallel(t *testing.T) {
	for _, a := range []float64{0, 1e-300, 1e-16, 1e-9, 1e-3, 1, math.Pi / 2, math.Pi - 1e-9, math.Pi} {
		s, c := math.Sincos(a)
		near(t, "angle", Angle(v3(2, 0, 0), v3(3*c, 3*s, 0)), a, 4e-16*math.Max(1, a))
		near(t, "signed angle", SignedAngle(v3(1, 0, 5), v3(c, -s, -7), v3(0, 0, 1)), -a, 1e-15)
	}
	if got := Angle(r3.Vec{}, v3(1, 0, 0)); got != 0 {
		t.Errorf("angle to the zero vector = %v, want 0", got)
	}
}

func TestPerpendicular(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := genUnit().Draw(t, "d")
		p := Perpendicular(d)
		near(t, "length", r3.Norm(p), 1, 1e-15)
		near(t, "right angle", r3.Dot(p, d), 0, 5e-16)
		if q := Perpendicular(r3.Scale(-1, d)); q != p {
			t.Errorf("Perpendicular of the opposite direction is %v, want %v", q, p)
		}
	})
}

func TestTransformBadInput(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	_, err := Unit(v3(0, 0, 0), "hinge")
	wantText(t, err, "hinge (0, 0, 0) has length 0, less than 1e-290: give a direction that has a length")
	_, err = Unit(v3(nan, 0, 1), "hinge")
	wantText(t, err, "hinge (NaN, 0, 1) is not finite: give three finite numbers")
	var ve *VectorError
	if _, err = Unit(v3(0, inf, 1), "hinge"); !errors.As(err, &ve) || !math.IsNaN(ve.Length) {
		t.Errorf("infinite vector: %v", err)
	}
	if _, err = Unit(v3(1e-300, 0, 0), "hinge"); !errors.As(err, &ve) || ve.Length != 1e-300 {
		t.Errorf("vanishing vector: %v", err)
	}
	_, err = AxisThrough(v3(1, 2, 3), v3(1, 2, 3))
	wantText(t, err, "axis through (1, 2, 3) and (1, 2, 3): axis direction (0, 0, 0) has length 0, less than 1e-290: give a direction that has a length")
	if _, err = NewAxis(v3(nan, 0, 0), v3(0, 0, 1)); !errors.As(err, &ve) {
		t.Errorf("axis through NaN: %v", err)
	}
	_, err = Quaternion{}.Transform()
	wantText(t, err, "quaternion [0 0 0 0] (x, y, z, w) has length 0: give a finite one that is not zero")
	for _, q := range []Quaternion{{nan, 0, 0, 1}, {0, inf, 0, 1}} {
		if _, err := q.Transform(); err == nil {
			t.Errorf("quaternion %v: no error", q)
		}
	}
	mirror := rot(1, 0, 0, 0, 1, 0, 0, 0, -1)
	wantText(t, mirror.Check(1e-9), "not a rigid motion: it mirrors, its determinant is -1, limit 1e-09: remove scale, shear and mirroring")
	wantText(t, rot(2, 0, 0, 0, 1, 0, 0, 0, 1).Check(1e-9),
		"not a rigid motion: columns are off unit length or right angles by 3, limit 1e-09: remove scale, shear and mirroring")
	for _, x := range []Transform{mirror, {}, rot(1, 0, 0, 0, 1, 0, 0, 0, nan), rows(1, 0, 0, inf, 0, 1, 0, 0, 0, 0, 1, 0), rot(1, 0, 0, 0, 1, 0, 0, 0, 1e-12)} {
		var re *RigidError
		if err := x.Check(1e-9); !errors.As(err, &re) {
			t.Errorf("Check(%v): %v", x, err)
		}
		if got, err := x.Orthonormalise(); !errors.As(err, &re) {
			t.Errorf("Orthonormalise(%v) = %v, %v", x, got, err)
		}
	}
}

func BenchmarkTransformMul(b *testing.B) {
	b.ReportAllocs()
	x, y := Rotation(about(v3(1, 2, 3), v3(1, 1, 0)), 0.3), Rotation(about(v3(3, 2, 1), v3(0, 1, 1)), 0.2)
	for b.Loop() {
		y = x.Mul(y)
	}
	if err := y.Check(1); err != nil {
		b.Fatal(err)
	}
}
