// Package solid is a small modelling kit for the demo mechanisms: turned,
// extruded and lofted bodies, every one a closed manifold whose faces are
// counter-clockwise seen from outside. Lengths are millimetres, angles are
// radians, all frames are right-handed. Faces stay polygons.
package solid

import "math"

// Vec is a point or a direction in space.
type Vec struct{ X, Y, Z float64 }

// Add returns a + b.
func (a Vec) Add(b Vec) Vec { return Vec{a.X + b.X, a.Y + b.Y, a.Z + b.Z} }

// Sub returns a - b.
func (a Vec) Sub(b Vec) Vec { return Vec{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }

// Mul returns a times s.
func (a Vec) Mul(s float64) Vec { return Vec{a.X * s, a.Y * s, a.Z * s} }

// Dot returns the scalar product.
func (a Vec) Dot(b Vec) float64 { return a.X*b.X + a.Y*b.Y + a.Z*b.Z }

// Cross returns the vector product a x b.
func (a Vec) Cross(b Vec) Vec {
	return Vec{a.Y*b.Z - a.Z*b.Y, a.Z*b.X - a.X*b.Z, a.X*b.Y - a.Y*b.X}
}

// Norm returns the length.
func (a Vec) Norm() float64 { return math.Sqrt(a.Dot(a)) }

// Unit returns a at length one; a must not be zero.
func (a Vec) Unit() Vec { return a.Mul(1 / a.Norm()) }

// P2 is a point in the plane: (x, y) of an outline or (r, z) of a profile.
type P2 struct{ X, Y float64 }

func (a P2) sub(b P2) P2            { return P2{a.X - b.X, a.Y - b.Y} }
func (a P2) add(b P2) P2            { return P2{a.X + b.X, a.Y + b.Y} }
func (a P2) mul(s float64) P2       { return P2{a.X * s, a.Y * s} }
func (a P2) dot(b P2) float64       { return a.X*b.X + a.Y*b.Y }
func (a P2) cross(b P2) float64     { return a.X*b.Y - a.Y*b.X }
func (a P2) norm() float64          { return math.Hypot(a.X, a.Y) }
func (a P2) unit() P2               { return a.mul(1 / a.norm()) }
func orient(a, b, c P2) float64     { return b.sub(a).cross(c.sub(a)) }
func polar(r, angle float64) P2     { return P2{r * math.Cos(angle), r * math.Sin(angle)} }
func lerp(a, b P2, t float64) P2    { return a.add(b.sub(a).mul(t)) }
func leftNormal(d P2) P2            { return P2{-d.Y, d.X} }
func lerpV(a, b Vec, t float64) Vec { return a.Add(b.Sub(a).Mul(t)) }

// Deg returns the radians of an angle given in degrees.
func Deg(d float64) float64 { return d * math.Pi / 180 }

// Frame is a pose: the origin and the unit axes of a local frame, given in
// the frame above it.
type Frame struct{ O, X, Y, Z Vec }

// World returns the frame at the origin along the world axes.
func World() Frame { return Frame{X: Vec{X: 1}, Y: Vec{Y: 1}, Z: Vec{Z: 1}} }

// Shift returns the frame moved by x, y, z without a turn.
func Shift(x, y, z float64) Frame {
	f := World()
	f.O = Vec{x, y, z}
	return f
}

// TurnX returns the frame turned by a radians about X.
func TurnX(a float64) Frame {
	s, c := math.Sincos(a)
	return Frame{X: Vec{X: 1}, Y: Vec{Y: c, Z: s}, Z: Vec{Y: -s, Z: c}}
}

// TurnY returns the frame turned by a radians about Y.
func TurnY(a float64) Frame {
	s, c := math.Sincos(a)
	return Frame{X: Vec{X: c, Z: -s}, Y: Vec{Y: 1}, Z: Vec{X: s, Z: c}}
}

// TurnZ returns the frame turned by a radians about Z.
func TurnZ(a float64) Frame {
	s, c := math.Sincos(a)
	return Frame{X: Vec{X: c, Y: s}, Y: Vec{X: -s, Y: c}, Z: Vec{Z: 1}}
}

// AlongX returns the frame whose Z lies along +X of the frame above, whose X
// lies along its Y and whose Y lies along its Z: bodies turned or extruded
// along Z then lie across.
func AlongX() Frame { return Frame{X: Vec{Y: 1}, Y: Vec{Z: 1}, Z: Vec{X: 1}} }

// AlongY returns the frame whose Z lies along +Y of the frame above, whose X
// lies along its Z and whose Y lies along its X.
func AlongY() Frame { return Frame{X: Vec{Z: 1}, Y: Vec{X: 1}, Z: Vec{Y: 1}} }

// At returns the point p of the frame in the frame above.
func (f Frame) At(p Vec) Vec { return f.Dir(p).Add(f.O) }

// Dir returns the direction d of the frame in the frame above.
func (f Frame) Dir(d Vec) Vec { return f.X.Mul(d.X).Add(f.Y.Mul(d.Y)).Add(f.Z.Mul(d.Z)) }

// Local returns the point p of the frame above in this frame.
func (f Frame) Local(p Vec) Vec {
	d := p.Sub(f.O)
	return Vec{d.Dot(f.X), d.Dot(f.Y), d.Dot(f.Z)}
}

// Then returns the pose of g, given in f, in the frame above f. Each g of a
// longer list is given in the one before it.
func (f Frame) Then(gs ...Frame) Frame {
	for _, g := range gs {
		f = Frame{O: f.At(g.O), X: f.Dir(g.X), Y: f.Dir(g.Y), Z: f.Dir(g.Z)}
	}
	return f
}
