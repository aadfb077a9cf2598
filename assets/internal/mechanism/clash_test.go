package mechanism

import (
	"math"

	s "pintle/assets/internal/solid"
)

// body is a part prepared for inside tests: its triangles, sorted into columns
// along Z for parity rays.
type body struct {
	name   string
	tris   [][3]s.Vec
	lo, hi s.Vec
	cells  map[[2]int][]int
}

const cellSize = 6.0

func newBody(name string, m s.Mesh, at s.Frame) body {
	b := body{name: name, cells: map[[2]int][]int{}}
	for _, f := range m.Faces {
		for i := 1; i+1 < len(f); i++ {
			t := [3]s.Vec{at.At(m.Vertices[f[0]]), at.At(m.Vertices[f[i]]), at.At(m.Vertices[f[i+1]])}
			b.tris = append(b.tris, t)
		}
	}
	for k, t := range b.tris {
		lo, hi := boxOf(t)
		if k == 0 {
			b.lo, b.hi = lo, hi
		}
		b.lo = s.Vec{X: min(b.lo.X, lo.X), Y: min(b.lo.Y, lo.Y), Z: min(b.lo.Z, lo.Z)}
		b.hi = s.Vec{X: max(b.hi.X, hi.X), Y: max(b.hi.Y, hi.Y), Z: max(b.hi.Z, hi.Z)}
		for x := cell(lo.X); x <= cell(hi.X); x++ {
			for y := cell(lo.Y); y <= cell(hi.Y); y++ {
				b.cells[[2]int{x, y}] = append(b.cells[[2]int{x, y}], k)
			}
		}
	}
	return b
}

func cell(x float64) int { return int(math.Floor(x / cellSize)) }

func boxOf(t [3]s.Vec) (lo, hi s.Vec) {
	lo, hi = t[0], t[0]
	for _, v := range t[1:] {
		lo = s.Vec{X: min(lo.X, v.X), Y: min(lo.Y, v.Y), Z: min(lo.Z, v.Z)}
		hi = s.Vec{X: max(hi.X, v.X), Y: max(hi.Y, v.Y), Z: max(hi.Z, v.Z)}
	}
	return lo, hi
}

// winding counts how many shells of the body hold p, by the signed crossings
// of the ray upward from p.
func (b *body) winding(p s.Vec) int {
	n := 0
	for _, k := range b.cells[[2]int{cell(p.X), cell(p.Y)}] {
		t := b.tris[k]
		area := (t[1].X-t[0].X)*(t[2].Y-t[0].Y) - (t[1].Y-t[0].Y)*(t[2].X-t[0].X)
		if area == 0 {
			continue
		}
		u := ((p.X-t[0].X)*(t[2].Y-t[0].Y) - (p.Y-t[0].Y)*(t[2].X-t[0].X)) / area
		v := ((t[1].X-t[0].X)*(p.Y-t[0].Y) - (t[1].Y-t[0].Y)*(p.X-t[0].X)) / area
		if u < 0 || v < 0 || u+v > 1 {
			continue
		}
		if t[0].Z+u*(t[1].Z-t[0].Z)+v*(t[2].Z-t[0].Z) > p.Z {
			if area > 0 {
				n++
			} else {
				n--
			}
		}
	}
	return n
}

// depth returns the distance from p to the body's surface, looked for within
// reach only.
func (b *body) depth(p s.Vec, reach float64) float64 {
	best := reach
	seen := map[int]bool{}
	for x := cell(p.X - reach); x <= cell(p.X+reach); x++ {
		for y := cell(p.Y - reach); y <= cell(p.Y+reach); y++ {
			for _, k := range b.cells[[2]int{x, y}] {
				if seen[k] {
					continue
				}
				seen[k] = true
				best = min(best, distance(p, b.tris[k]))
			}
		}
	}
	return best
}

// distance returns the distance from p to a triangle.
func distance(p s.Vec, t [3]s.Vec) float64 {
	n := t[1].Sub(t[0]).Cross(t[2].Sub(t[0]))
	if l := n.Norm(); l > 0 {
		n = n.Mul(1 / l)
		in := true
		for i := range 3 {
			if t[(i+1)%3].Sub(t[i]).Cross(p.Sub(t[i])).Dot(n) < 0 {
				in = false
			}
		}
		if in {
			return math.Abs(p.Sub(t[0]).Dot(n))
		}
	}
	best := math.Inf(1)
	for i := range 3 {
		a, d := t[i], t[(i+1)%3].Sub(t[i])
		u := 0.0
		if l := d.Dot(d); l > 0 {
			u = max(0, min(1, p.Sub(a).Dot(d)/l))
		}
		best = min(best, p.Sub(a.Add(d.Mul(u))).Norm())
	}
	return best
}

// clash is a point of one part inside another.
type clash struct {
	of, in string
	at     s.Vec
	depth  float64
}

// deepest returns the deepest point of a's edges inside b, sampled about every
// step, if it is deeper than tolerance.
func deepest(a, b *body, step, tolerance float64) (clash, bool) {
	worst := clash{of: a.name, in: b.name}
	if a.hi.X < b.lo.X || b.hi.X < a.lo.X || a.hi.Y < b.lo.Y || b.hi.Y < a.lo.Y || a.hi.Z < b.lo.Z || b.hi.Z < a.lo.Z {
		return worst, false
	}
	try := func(p s.Vec) {
		if p.X < b.lo.X || p.X > b.hi.X || p.Y < b.lo.Y || p.Y > b.hi.Y || p.Z < b.lo.Z || p.Z > b.hi.Z {
			return
		}
		// A nudge keeps the upright ray off shared edges.
		q := s.Vec{X: p.X + 3.1e-7, Y: p.Y - 2.3e-7, Z: p.Z}
		if b.winding(q) > 0 {
			if d := b.depth(p, 2*cellSize); d > worst.depth {
				worst.depth, worst.at = d, p
			}
		}
	}
	for _, t := range a.tris {
		for i := range 3 {
			e := t[(i+1)%3].Sub(t[i])
			n := int(e.Norm()/step) + 1
			for j := range n {
				try(t[i].Add(e.Mul(float64(j) / float64(n))))
			}
		}
	}
	return worst, worst.depth > tolerance
}

// turned returns the frame that turns by angle about the line.
func turned(origin, axis s.Vec, angle float64) s.Frame {
	turn := func(v s.Vec) s.Vec {
		sin, cos := math.Sincos(angle)
		return v.Mul(cos).Add(axis.Cross(v).Mul(sin)).Add(axis.Mul(axis.Dot(v) * (1 - cos)))
	}
	w := s.World()
	f := s.Frame{X: turn(w.X), Y: turn(w.Y), Z: turn(w.Z)}
	f.O = origin.Sub(f.Dir(origin))
	return f
}

// carried tells for each part whether it moves with the joint's child.
func (m *Mechanism) carried(joint int) map[string]bool {
	moved := map[string]bool{m.Joints[joint].Child: true}
	for range m.Joints {
		for _, j := range m.Joints {
			if moved[j.Parent] {
				moved[j.Child] = true
			}
		}
	}
	return moved
}

// clashes returns what is inside what when the joint stands at angle from the
// modelled pose.
func (m *Mechanism) clashes(joint int, angle, step, tolerance float64) []clash {
	j := m.Joints[joint]
	moved := m.carried(joint)
	var moving, still []body
	for _, p := range m.Parts {
		if moved[p.Name] {
			moving = append(moving, newBody(p.Name, p.Mesh, turned(j.Origin, j.Axis, angle)))
		} else {
			still = append(still, newBody(p.Name, p.Mesh, s.World()))
		}
	}
	var out []clash
	for i := range moving {
		for k := range still {
			if c, ok := deepest(&moving[i], &still[k], step, tolerance); ok {
				out = append(out, c)
			}
			if c, ok := deepest(&still[k], &moving[i], step, tolerance); ok {
				out = append(out, c)
			}
		}
	}
	return out
}
