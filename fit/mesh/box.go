package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// emptyBox is the box of no points: extend turns it into a point's box.
func emptyBox() r3.Box {
	inf := math.Inf(1)
	return r3.Box{Min: r3.Vec{X: inf, Y: inf, Z: inf}, Max: r3.Vec{X: -inf, Y: -inf, Z: -inf}}
}

func extend(b r3.Box, p r3.Vec) r3.Box {
	b.Min.X, b.Max.X = min(b.Min.X, p.X), max(b.Max.X, p.X)
	b.Min.Y, b.Max.Y = min(b.Min.Y, p.Y), max(b.Max.Y, p.Y)
	b.Min.Z, b.Max.Z = min(b.Min.Z, p.Z), max(b.Max.Z, p.Z)
	return b
}

// union differs from r3.Box.Union in that it keeps flat boxes, which that
// method takes for empty.
func union(a, b r3.Box) r3.Box { return extend(extend(a, b.Min), b.Max) }

// boundsOf returns the box round the points, the zero box for none.
func boundsOf(points []r3.Vec) r3.Box {
	if len(points) == 0 {
		return r3.Box{}
	}
	b := emptyBox()
	for _, p := range points {
		b = extend(b, p)
	}
	return b
}

func isFinite(p r3.Vec) bool {
	// The comparisons are false for NaN.
	return math.Abs(p.X) <= maxCoordinate && math.Abs(p.Y) <= maxCoordinate && math.Abs(p.Z) <= maxCoordinate
}

func component(p r3.Vec, axis int) float64 {
	switch axis {
	case 0:
		return p.X
	case 1:
		return p.Y
	}
	return p.Z
}

// halfArea returns half the surface area of a box that is not empty.
func halfArea(b r3.Box) float64 {
	d := r3.Sub(b.Max, b.Min)
	return d.X*d.Y + d.Y*d.Z + d.Z*d.X
}

func distance2(p, q r3.Vec) float64 { return r3.Norm2(r3.Sub(p, q)) }
