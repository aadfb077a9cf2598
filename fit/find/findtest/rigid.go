package findtest

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Then is the motion b followed by a: p -> a(b(p)).
func Then(a, b mesh.Rigid) mesh.Rigid {
	return mesh.Rigid{X: a.Turn(b.X), Y: a.Turn(b.Y), Z: a.Turn(b.Z), T: a.Apply(b.T)}
}

// About is the turn by an angle about the line through o along unit a
// (O. Rodrigues, 1840).
func About(o, a r3.Vec, angle float64) mesh.Rigid {
	s, c := math.Sincos(angle)
	turn := func(p r3.Vec) r3.Vec {
		along := r3.Scale(r3.Dot(p, a)*(1-c), a)
		return r3.Add(r3.Scale(c, p), r3.Add(along, r3.Scale(s, r3.Cross(a, p))))
	}
	x := mesh.Rigid{X: turn(r3.Vec{X: 1}), Y: turn(r3.Vec{Y: 1}), Z: turn(r3.Vec{Z: 1})}
	x.T = r3.Sub(o, x.Turn(o))
	return x
}

// Shift is the motion by d.
func Shift(d r3.Vec) mesh.Rigid {
	x := mesh.Identity()
	x.T = d
	return x
}

// Frame is the motion that takes the z axis to unit z through o, and x to the
// direction of x as far as it is across z.
func Frame(o, z, x r3.Vec) mesh.Rigid {
	x = r3.Sub(x, r3.Scale(r3.Dot(x, z), z))
	if r3.Norm(x) < 1e-9 {
		x = across(z)
	}
	x = r3.Unit(x)
	return mesh.Rigid{X: x, Y: r3.Cross(z, x), Z: z, T: o}
}

// across is a unit vector perpendicular to unit a, the same every time.
func across(a r3.Vec) r3.Vec {
	e := r3.Vec{X: 1}
	if math.Abs(a.X) > 0.6 {
		e = r3.Vec{Y: 1}
	}
	return r3.Unit(r3.Cross(a, e))
}
