package kinematics

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// Translation returns the motion p -> p + v.
func Translation(v r3.Vec) Transform {
	x := Identity()
	x.T = v
	return x
}

// Rotation returns the motion that turns by angle about the axis by the
// right-hand rule. The axis direction must be of unit length.
func Rotation(a Axis, angle float64) Transform {
	x := turn(a.Dir, angle)
	// (I - R) p without the part along the axis, so that no digits are lost to it.
	p := reject(a.Point, a.Dir)
	x.T = r3.Sub(p, x.Turn(p))
	return x
}

// turn returns the rotation about the unit direction d through the origin
// (Rodrigues' formula, with 1 - cos t written as 2 sin^2 t/2).
func turn(d r3.Vec, angle float64) Transform {
	s := math.Sin(angle)
	h := math.Sin(angle / 2)
	v := 2 * h * h
	xy, yz, zx := v*d.X*d.Y, v*d.Y*d.Z, v*d.Z*d.X
	return Transform{
		X: r3.Vec{X: 1 - v*(d.Y*d.Y+d.Z*d.Z), Y: xy + s*d.Z, Z: zx - s*d.Y},
		Y: r3.Vec{X: xy - s*d.Z, Y: 1 - v*(d.Z*d.Z+d.X*d.X), Z: yz + s*d.X},
		Z: r3.Vec{X: zx + s*d.Y, Y: yz - s*d.X, Z: 1 - v*(d.X*d.X+d.Y*d.Y)},
	}
}

// Mul returns the motion that first does y and then x: in frame names,
// xAC = xAB.Mul(xBC).
func (x Transform) Mul(y Transform) Transform {
	return Transform{X: x.Turn(y.X), Y: x.Turn(y.Y), Z: x.Turn(y.Z), T: x.Apply(y.T)}
}

// Inverse returns the motion that undoes x. x must be rigid.
func (x Transform) Inverse() Transform {
	inv := Transform{
		X: r3.Vec{X: x.X.X, Y: x.Y.X, Z: x.Z.X},
		Y: r3.Vec{X: x.X.Y, Y: x.Y.Y, Z: x.Z.Y},
		Z: r3.Vec{X: x.X.Z, Y: x.Y.Z, Z: x.Z.Z},
	}
	inv.T = opposite(inv.Turn(x.T))
	return inv
}

// Axis returns the moved axis.
func (x Transform) Axis(a Axis) Axis { return Axis{Point: x.Apply(a.Point), Dir: x.Turn(a.Dir)} }

// Frame returns the moved joint frame.
func (x Transform) Frame(f Frame) Frame {
	return Frame{Origin: x.Apply(f.Origin), Hinge: x.Turn(f.Hinge), Reach: x.Turn(f.Reach)}
}

// Rows returns the three rows [R t] of the matrix of x.
func (x Transform) Rows() [3][4]float64 {
	return [3][4]float64{
		{x.X.X, x.Y.X, x.Z.X, x.T.X},
		{x.X.Y, x.Y.Y, x.Z.Y, x.T.Y},
		{x.X.Z, x.Y.Z, x.Z.Z, x.T.Z},
	}
}

// FromRows returns the motion whose matrix has the rows [R t]. It does not
// check that R is a rotation; Check does.
func FromRows(m [3][4]float64) Transform {
	col := func(j int) r3.Vec { return r3.Vec{X: m[0][j], Y: m[1][j], Z: m[2][j]} }
	return Transform{X: col(0), Y: col(1), Z: col(2), T: col(3)}
}

// Check returns a *RigidError where x is not finite, where its columns differ
// from unit length and right angles by more than tol, or where x mirrors.
func (x Transform) Check(tol float64) error {
	if !Finite(x.X) || !Finite(x.Y) || !Finite(x.Z) || !Finite(x.T) {
		return &RigidError{What: "a component is not finite:", Value: nan(), Max: tol}
	}
	worst := 0.0
	for _, d := range []float64{
		r3.Norm2(x.X) - 1, r3.Norm2(x.Y) - 1, r3.Norm2(x.Z) - 1,
		r3.Dot(x.X, x.Y), r3.Dot(x.Y, x.Z), r3.Dot(x.Z, x.X),
	} {
		worst = max(worst, math.Abs(d))
	}
	if worst > tol {
		return &RigidError{What: "columns are off unit length or right angles by", Value: worst, Max: tol}
	}
	if det := r3.Dot(r3.Cross(x.X, x.Y), x.Z); det < 0 {
		return &RigidError{What: "it mirrors, its determinant is", Value: det, Max: tol}
	}
	return nil
}

// Orthonormalise returns the rigid motion nearest to x: the rotation that
// least changes the nine numbers in the sense of least squares, U diag(1, 1,
// det UV') V' of the singular value decomposition. It returns a *RigidError
// where x is not finite, mirrors, or flattens space to rounding.
func (x Transform) Orthonormalise() (Transform, error) {
	if !Finite(x.X) || !Finite(x.Y) || !Finite(x.Z) || !Finite(x.T) {
		return Transform{}, &RigidError{What: "a component is not finite:", Value: nan(), Max: 0}
	}
	r := x.Rows()
	m := mat.NewDense(3, 3, []float64{
		r[0][0], r[0][1], r[0][2], r[1][0], r[1][1], r[1][2], r[2][0], r[2][1], r[2][2],
	})
	var svd mat.SVD
	if !svd.Factorize(m, mat.SVDFull) {
		return Transform{}, &RigidError{What: "its singular values do not converge:", Value: nan(), Max: 0}
	}
	s := svd.Values(nil)
	if det := r3.Dot(r3.Cross(x.X, x.Y), x.Z); s[2] <= 1e-9*s[0] || det < 0 {
		return Transform{}, &RigidError{What: "it mirrors or flattens, its determinant is", Value: det, Max: 0}
	}
	var u, v, q mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	q.Mul(&u, v.T())
	col := func(j int) r3.Vec { return r3.Vec{X: q.At(0, j), Y: q.At(1, j), Z: q.At(2, j)} }
	return Transform{X: col(0), Y: col(1), Z: col(2), T: x.T}, nil
}

func nan() float64 { return math.NaN() }
