package mesh

import "gonum.org/v1/gonum/spatial/r3"

// Rigid is a rigid motion p -> p.x X + p.y Y + p.z Z + T. X, Y and Z are the
// columns of a rotation matrix, in model axes.
type Rigid struct {
	X, Y, Z, T r3.Vec
}

// Identity returns the motion that leaves every point where it is.
func Identity() Rigid {
	return Rigid{X: r3.Vec{X: 1}, Y: r3.Vec{Y: 1}, Z: r3.Vec{Z: 1}}
}

// Apply returns the moved point.
func (x Rigid) Apply(p r3.Vec) r3.Vec { return r3.Add(x.Turn(p), x.T) }

// Turn returns the direction d turned by the rotation alone.
func (x Rigid) Turn(d r3.Vec) r3.Vec {
	return r3.Vec{
		X: d.X*x.X.X + d.Y*x.Y.X + d.Z*x.Z.X,
		Y: d.X*x.X.Y + d.Y*x.Y.Y + d.Z*x.Z.Y,
		Z: d.X*x.X.Z + d.Y*x.Y.Z + d.Z*x.Z.Z,
	}
}

// Inverse returns the motion that undoes x.
func (x Rigid) Inverse() Rigid {
	y := Rigid{
		X: r3.Vec{X: x.X.X, Y: x.Y.X, Z: x.Z.X},
		Y: r3.Vec{X: x.X.Y, Y: x.Y.Y, Z: x.Z.Y},
		Z: r3.Vec{X: x.X.Z, Y: x.Y.Z, Z: x.Z.Z},
	}
	y.T = r3.Scale(-1, y.Turn(x.T))
	return y
}
