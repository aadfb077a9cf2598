package solid

import "math"

// Angles returns n equal steps round a full turn, beginning at start.
func Angles(n int, start float64) []float64 {
	a := make([]float64, n)
	for i := range a {
		a[i] = start + 2*math.Pi*float64(i)/float64(n)
	}
	return a
}

// Turned returns the body that the profile (r, z) makes when turned about Z,
// in n steps. The profile runs counter-clockwise with r to the right and z
// up: up the outside, down the bore. It either begins and ends on the axis or
// is a closed loop off the axis.
func Turned(profile []P2, n int) Mesh {
	return TurnedAt(profile, Angles(n, 0), nil)
}

// TurnedAt is Turned with chosen angles and, when reshape is not nil, with the
// radius of profile point k at angle a replaced by reshape(k, a, r).
func TurnedAt(profile []P2, angles []float64, reshape func(k int, a, r float64) float64) Mesh {
	var m Mesh
	onAxis := profile[0].X == 0
	rings := make([][]int32, len(profile))
	for k, p := range profile {
		if p.X == 0 {
			rings[k] = []int32{m.vertex(Vec{Z: p.Y})}
			continue
		}
		pts := make([]Vec, len(angles))
		for i, a := range angles {
			r := p.X
			if reshape != nil {
				r = reshape(k, a, r)
			}
			q := polar(r, a)
			pts[i] = Vec{q.X, q.Y, p.Y}
		}
		rings[k] = m.ring(pts)
	}
	last := len(profile)
	if onAxis {
		last--
	}
	for k := range last {
		j := (k + 1) % len(profile)
		flat := profile[k].Y == profile[j].Y
		a, b := rings[k], rings[j]
		switch {
		case len(a) == 1:
			m.cap(a[0], reversed(b), flat)
		case len(b) == 1:
			m.cap(b[0], a, flat)
		default:
			m.band(a, b)
		}
	}
	m.dropUnused()
	return m
}

// cap closes a loop by one polygon where it is flat, else by a fan to apex.
func (m *Mesh) cap(apex int32, loop []int32, flat bool) {
	if flat {
		m.face(loop...)
		return
	}
	for i := range loop {
		m.face(loop[i], loop[(i+1)%len(loop)], apex)
	}
}

// dropUnused removes vertices that no face uses, such as the centre of a flat
// cap, and keeps the order of the rest.
func (m *Mesh) dropUnused() {
	used := make([]bool, len(m.Vertices))
	for _, f := range m.Faces {
		for _, v := range f {
			used[v] = true
		}
	}
	to := make([]int32, len(m.Vertices))
	kept := m.Vertices[:0]
	for i, v := range m.Vertices {
		if used[i] {
			to[i] = int32(len(kept))
			kept = append(kept, v)
		}
	}
	m.Vertices = kept
	for _, f := range m.Faces {
		for i := range f {
			f[i] = to[f[i]]
		}
	}
}

// Drum returns a solid cylinder from z0 to z1 with a chamfer c at both ends.
func Drum(r, z0, z1, c float64, n int) Mesh {
	return Turned(drumProfile(r, z0, z1, c), n)
}

func drumProfile(r, z0, z1, c float64) []P2 {
	if c <= 0 {
		return []P2{{0, z0}, {r, z0}, {r, z1}, {0, z1}}
	}
	return []P2{{0, z0}, {r - c, z0}, {r, z0 + c}, {r, z1 - c}, {r - c, z1}, {0, z1}}
}

// Ring returns a pipe of outer radius r and bore radius b from z0 to z1 with a
// chamfer c on its outer edges.
func Ring(r, b, z0, z1, c float64, n int) Mesh {
	return Turned([]P2{{b, z0}, {r - c, z0}, {r, z0 + c}, {r, z1 - c}, {r - c, z1}, {b, z1}}, n)
}
