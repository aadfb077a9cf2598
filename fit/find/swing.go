package find

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

var (
	swingTurns  = [...]float64{4 * math.Pi / 180, 12 * math.Pi / 180}
	swingSlides = [...]float64{0.01, 0.04} // of the smaller part's diagonal
)

const (
	swingSpots = 120  // of either part
	swingIn    = 0.08 // share of the way that leads in, and halves the feature
)

// swing moves each part's near surface by small steps against the other part
// and measures how much of its way leads into the other part, in both senses.
// What overlaps before counts only as far as it gets deeper.
func (h *hypothesis) swing(w *work, l *link) {
	a, b := w.parts[l.a].mesh, w.parts[l.b].mesh
	steps := swingTurns
	if h.Kind == Prismatic {
		steps = swingSlides
	}
	var in [2]float64
	for k, sense := range []float64{1, -1} {
		for _, step := range steps {
			x, y := h.moved(sense*step, l.size), h.moved(-sense*step, l.size)
			ia, wa := deeper(l.za, b, x)
			ib, wb := deeper(l.zb, a, y)
			if s := wa + wb; s > 0 {
				in[k] += (ia + ib) / s / float64(len(steps))
			}
		}
	}
	h.feats[fSwing] = 1 / (1 + min(in[0], in[1])/swingIn)
	h.feats[fSwings] = 1 / (1 + max(in[0], in[1])/swingIn)
}

// moved is the motion by a step.
func (h *hypothesis) moved(step, size float64) mesh.Rigid {
	if h.Kind == Prismatic {
		x := mesh.Identity()
		x.T = r3.Scale(step*size, h.Axis.Axis)
		return x
	}
	return about(h.Origin, h.Axis.Axis, step)
}

// deeper returns how far the spots get into the other part when moved, and how
// far the near ones move, both summed over the area.
func deeper(spots []spot, other *mesh.Mesh, x mesh.Rigid) (in, way float64) {
	stride := max(1, len(spots)/swingSpots)
	for i := 0; i < len(spots); i += stride {
		s := &spots[i]
		p := x.Apply(s.at)
		step := r3.Norm(r3.Sub(p, s.at))
		way += s.area * s.near * step
		before := -s.gap
		if s.inside {
			before = s.gap
		}
		if before+step <= 0 {
			continue // cannot reach it
		}
		tri, q, d := other.BVH().Closest(p)
		if r3.Dot(r3.Sub(p, q), other.AreaNormal(tri)) < 0 {
			in += s.area * min(step, max(0, d-max(before, 0)))
		}
	}
	return in, way
}

// about is the turn by an angle about the line through o along unit a.
func about(o, a r3.Vec, angle float64) mesh.Rigid {
	rot := r3.NewRotation(angle, a)
	x := mesh.Rigid{X: rot.Rotate(r3.Vec{X: 1}), Y: rot.Rotate(r3.Vec{Y: 1}), Z: rot.Rotate(r3.Vec{Z: 1})}
	x.T = r3.Sub(o, x.Turn(o))
	return x
}
