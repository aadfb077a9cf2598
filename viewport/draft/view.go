package draft

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// View is a camera fixed to a picture: it projects model points to pixels and
// pixels back to rays. Make one with Camera.View; it is immutable.
type View struct {
	Camera Camera
	Width  int     // pixels
	Height int     // pixels
	Scale  float64 // pixels per unit of pen width and text size; 1 on a plain screen

	right, up, back r3.Vec
	dist            float64 // eye to target; 0 for a parallel projection
	perPixel        float64 // model units per pixel at Target
	near, far       float64 // planes, along -back from the eye (from Target if parallel)
}

// Pixel is a point of the picture: X to the right and Y down from the top
// left corner, Depth as OpenGL's depth buffer holds it.
type Pixel struct {
	X, Y, Depth float64
}

// View fixes the camera to a picture of w x h pixels. The depth range is made
// to hold the box bounds (model units); an empty box gives one of the
// picture's own size. Scale is the number of pixels per unit of pen width.
func (c Camera) View(w, h int, scale float64, bounds r3.Box) View {
	if !(scale > 0) || math.IsInf(scale, 0) {
		scale = 1
	}
	v := View{Camera: c, Width: max(w, 1), Height: max(h, 1), Scale: scale}
	v.right, v.up, v.back = c.Basis()
	v.perPixel = c.Height / float64(v.Height)
	if c.FOV > 0 {
		v.dist = c.Height / 2 / math.Tan(c.FOV/2)
	}
	v.setPlanes(bounds)
	return v
}

// setPlanes puts the near and far planes round the box, with room for marks
// that reach out of it. A perspective near plane stays in front of the eye.
func (v *View) setPlanes(bounds r3.Box) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range BoxCorners(bounds) {
		d := -r3.Dot(r3.Sub(p, v.Camera.Target), v.back)
		lo, hi = math.Min(lo, d), math.Max(hi, d)
	}
	if !(lo <= hi) || math.IsInf(hi-lo, 0) {
		lo, hi = -v.Camera.Height, v.Camera.Height
	}
	pad := 0.05*(hi-lo) + 0.02*v.Camera.Height
	lo, hi = lo-pad+v.dist, hi+pad+v.dist
	if v.dist > 0 {
		hi = math.Max(hi, v.dist*1e-3)
		lo = math.Max(lo, hi*1e-4)
		if hi <= lo {
			hi = 2 * lo
		}
	}
	v.near, v.far = lo, hi
}

// Project returns where the model point p appears. It reports false for a
// point at or behind the near plane of a perspective view, which has no place
// in the picture, and for one with numbers that are not finite.
func (v View) Project(p r3.Vec) (Pixel, bool) {
	q := r3.Sub(p, v.Camera.Target)
	return v.place(r3.Dot(q, v.right), r3.Dot(q, v.up), v.dist-r3.Dot(q, v.back))
}

// place maps picture coordinates in model units and the distance along the
// line of sight to a pixel.
func (v View) place(x, y, d float64) (Pixel, bool) {
	s := 1 / v.perPixel
	depth := (d - v.near) / (v.far - v.near)
	if v.dist > 0 {
		if d < v.near {
			return Pixel{}, false
		}
		s *= v.dist / d
		depth = v.far / (v.far - v.near) * (1 - v.near/d)
	}
	p := Pixel{X: float64(v.Width)/2 + x*s, Y: float64(v.Height)/2 - y*s, Depth: depth}
	return p, finite(p.X) && finite(p.Y)
}

// Segment projects the part of the segment a b that lies in front of the near
// plane; it reports false if none does.
func (v View) Segment(a, b r3.Vec) (p, q Pixel, ok bool) {
	if v.dist > 0 {
		da, db := v.distance(a), v.distance(b)
		limit := v.near * (1 + 1e-9)
		if da < limit && db < limit {
			return p, q, false
		}
		if da < limit {
			a = lerp(a, b, (limit-da)/(db-da))
		} else if db < limit {
			b = lerp(b, a, (limit-db)/(da-db))
		}
	}
	p, okP := v.Project(a)
	q, okQ := v.Project(b)
	return p, q, okP && okQ
}

// distance returns how far p lies before the eye along the line of sight.
func (v View) distance(p r3.Vec) float64 {
	return v.dist - r3.Dot(r3.Sub(p, v.Camera.Target), v.back)
}

// Ray returns the ray that pixel x, y stands for: a model point nearer than
// everything drawn and the unit direction of sight.
func (v View) Ray(x, y float64) (origin, dir r3.Vec) {
	px := (x - float64(v.Width)/2) * v.perPixel
	py := (float64(v.Height)/2 - y) * v.perPixel
	at := r3.Add(v.Camera.Target, r3.Add(r3.Scale(px, v.right), r3.Scale(py, v.up)))
	if v.dist > 0 {
		eye := r3.Add(v.Camera.Target, r3.Scale(v.dist, v.back))
		dir = r3.Unit(r3.Sub(at, eye))
		return r3.Add(eye, r3.Scale(v.near/-r3.Dot(dir, v.back), dir)), dir
	}
	return r3.Sub(at, r3.Scale(v.near, v.back)), r3.Scale(-1, v.back)
}

// Unproject returns the model point at pixel x, y in the plane through p
// square to the line of sight: where a dragged point p goes.
func (v View) Unproject(x, y float64, p r3.Vec) r3.Vec {
	o, d := v.Ray(x, y)
	t := r3.Dot(r3.Sub(p, o), v.back) / r3.Dot(d, v.back)
	return r3.Add(o, r3.Scale(t, d))
}

// UnitsPerPixel returns the model length that one pixel covers at p's depth.
func (v View) UnitsPerPixel(p r3.Vec) float64 {
	if v.dist > 0 {
		return v.perPixel * math.Max(v.distance(p), v.near) / v.dist
	}
	return v.perPixel
}

// Sight returns the unit direction from the viewer to p.
func (v View) Sight(p r3.Vec) r3.Vec {
	if v.dist == 0 {
		return r3.Scale(-1, v.back)
	}
	eye := r3.Add(v.Camera.Target, r3.Scale(v.dist, v.back))
	if d := r3.Sub(p, eye); r3.Norm(d) > 0 {
		return r3.Unit(d)
	}
	return r3.Scale(-1, v.back)
}

// Eye returns the viewer's position and true for a perspective view, and the
// direction to the viewer and false for a parallel one.
func (v View) Eye() (r3.Vec, bool) {
	if v.dist > 0 {
		return r3.Add(v.Camera.Target, r3.Scale(v.dist, v.back)), true
	}
	return v.back, false
}

// Basis returns the picture's unit axes in model coordinates.
func (v View) Basis() (right, up, back r3.Vec) { return v.right, v.up, v.back }

// Planes returns the distances of the near and far planes before the eye
// (before Target for a parallel view, where near may be negative) and the
// distance from the eye to Target, 0 for a parallel view.
func (v View) Planes() (near, far, eye float64) { return v.near, v.far, v.dist }

// BoxCorners returns the eight corners of a box, flat ones included, or none
// for the zero box and for one whose corners are out of order.
func BoxCorners(b r3.Box) []r3.Vec {
	if b == (r3.Box{}) || !(b.Min.X <= b.Max.X && b.Min.Y <= b.Max.Y && b.Min.Z <= b.Max.Z) {
		return nil
	}
	return b.Vertices()
}

func lerp(a, b r3.Vec, t float64) r3.Vec {
	return r3.Add(r3.Scale(1-t, a), r3.Scale(t, b))
}
