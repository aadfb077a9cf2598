package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// axisFrame maps model coordinates to the axis frame: origin on the axis
// beside the bodies, z along the axis, and lengths scaled by a power of two
// (which rounds nothing) so that every point lies within distance 1.
type axisFrame struct {
	origin     r3.Vec // in model axes
	e1, e2, e3 r3.Vec // unit, in model axes
	scale      float64
}

// newAxisFrame places the frame at the foot of the centre of bounds, so that a
// model far along the axis keeps its digits; for a slider, of whose axis only
// the direction matters, at the centre itself.
func newAxisFrame(by Motion, bounds r3.Box) axisFrame {
	f := axisFrame{e3: by.Axis.Dir, e1: kinematics.Perpendicular(by.Axis.Dir)}
	f.e2 = r3.Cross(f.e3, f.e1)
	f.origin = r3.Scale(0.5, r3.Add(bounds.Min, bounds.Max))
	if by.Turns() {
		f.origin = by.Axis.Foot(f.origin)
	}
	reach := 0.0
	for _, c := range bounds.Vertices() {
		reach = max(reach, r3.Norm(r3.Sub(c, f.origin)))
	}
	f.scale = 1
	if reach > 0 {
		f.scale = math.Ldexp(1, -math.Ilogb(reach)-1)
	}
	return f
}

// local returns the model point p in the axis frame.
func (f *axisFrame) local(p r3.Vec) r3.Vec {
	return r3.Scale(f.scale, f.turn(r3.Sub(p, f.origin)))
}

// turn returns the model direction d in the axis frame.
func (f *axisFrame) turn(d r3.Vec) r3.Vec {
	return r3.Vec{X: r3.Dot(d, f.e1), Y: r3.Dot(d, f.e2), Z: r3.Dot(d, f.e3)}
}

// model returns the axis-frame point p in model coordinates.
func (f *axisFrame) model(p r3.Vec) r3.Vec {
	return r3.Add(f.origin, r3.Scale(1/f.scale, f.modelDir(p)))
}

// modelDir returns the axis-frame direction d in model axes.
func (f *axisFrame) modelDir(d r3.Vec) r3.Vec {
	return r3.Add(r3.Scale(d.X, f.e1), r3.Add(r3.Scale(d.Y, f.e2), r3.Scale(d.Z, f.e3)))
}

// turned returns p turned about z by the angle with the given cosine and sine.
func turned(p r3.Vec, c, s float64) r3.Vec {
	return r3.Vec{X: c*p.X - s*p.Y, Y: s*p.X + c*p.Y, Z: p.Z}
}

// boundsOf returns the box round all bodies.
func boundsOf(groups ...[]Body) r3.Box {
	inf := math.Inf(1)
	b := r3.Box{Min: r3.Vec{X: inf, Y: inf, Z: inf}, Max: r3.Vec{X: -inf, Y: -inf, Z: -inf}}
	for _, g := range groups {
		for i := range g {
			if m := g[i].Mesh; m != nil && len(m.Triangles()) > 0 {
				b = joinBoxes(b, g[i].box())
			}
		}
	}
	return b
}

// box returns a box round the body where it stands.
func (b *Body) box() r3.Box {
	m := b.Mesh.Bounds()
	if !b.posed() {
		return m
	}
	mid, half := b.Pose.Apply(r3.Scale(0.5, r3.Add(m.Min, m.Max))), r3.Scale(0.5, r3.Sub(m.Max, m.Min))
	x, y, z := r3.Scale(half.X, b.Pose.X), r3.Scale(half.Y, b.Pose.Y), r3.Scale(half.Z, b.Pose.Z)
	reach := r3.Vec{
		X: math.Abs(x.X) + math.Abs(y.X) + math.Abs(z.X),
		Y: math.Abs(x.Y) + math.Abs(y.Y) + math.Abs(z.Y),
		Z: math.Abs(x.Z) + math.Abs(y.Z) + math.Abs(z.Z),
	}
	return r3.Box{Min: r3.Sub(mid, reach), Max: r3.Add(mid, reach)}
}

func joinBoxes(b, o r3.Box) r3.Box {
	b.Min = r3.Vec{X: min(b.Min.X, o.Min.X), Y: min(b.Min.Y, o.Min.Y), Z: min(b.Min.Z, o.Min.Z)}
	b.Max = r3.Vec{X: max(b.Max.X, o.Max.X), Y: max(b.Max.Y, o.Max.Y), Z: max(b.Max.Z, o.Max.Z)}
	return b
}
