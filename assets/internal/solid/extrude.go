package solid

// Slab describes an outline extruded along Z.
type Slab struct {
	Outline []P2
	Holes   [][]P2 // right through
	Z0, Z1  float64
	Bevel   float64 // chamfer of the outline's edges at both ends
	HoleBev float64 // chamfer of the holes' edges at both ends
	FlatLow bool    // leave the edges at Z0 sharp
}

// Extruded returns the body of the slab. Convex ends without holes are one
// polygon; other ends are cut into triangles.
func Extruded(s Slab) Mesh {
	var m Mesh
	outer := counterClockwise(s.Outline)
	low, top := m.wall(outer, s, s.Bevel, false)
	lows, tops := [][]int32{low}, [][]int32{top}
	for _, h := range s.Holes {
		l, t := m.wall(counterClockwise(h), s, s.HoleBev, true)
		lows, tops = append(lows, l), append(tops, t)
	}
	m.flat(tops, true)
	m.flat(lows, false)
	return m
}

// wall adds the side of one outline with its chamfers and returns the loops at
// both ends, counter-clockwise seen from +Z.
func (m *Mesh) wall(p []P2, s Slab, bevel float64, hole bool) (low, top []int32) {
	in := bevel
	if hole {
		in = -bevel
	}
	type level struct {
		p []P2
		z float64
	}
	levels := []level{{p, s.Z0}, {p, s.Z1}}
	if bevel > 0 {
		q := inset(p, in)
		levels = []level{{q, s.Z0}, {p, s.Z0 + bevel}, {p, s.Z1 - bevel}, {q, s.Z1}}
		if s.FlatLow {
			levels = []level{{p, s.Z0}, {p, s.Z1 - bevel}, {q, s.Z1}}
		}
	}
	var prev []int32
	for _, l := range levels {
		r := m.ring(at(l.p, l.z))
		switch {
		case prev == nil:
			low = r
		case hole:
			m.band(r, prev)
		default:
			m.band(prev, r)
		}
		prev = r
	}
	return low, prev
}

func at(p []P2, z float64) []Vec {
	out := make([]Vec, len(p))
	for i, q := range p {
		out[i] = Vec{q.X, q.Y, z}
	}
	return out
}

// flat closes an end bounded by loops[0] with the other loops as its holes: by
// one polygon if it is convex, which every reader cuts alike, else by triangles.
func (m *Mesh) flat(loops [][]int32, up bool) {
	flatten := func(v int32) P2 { return P2{m.Vertices[v].X, m.Vertices[v].Y} }
	if len(loops) == 1 && convex(loops[0], flatten) {
		f := loops[0]
		if !up {
			f = reversed(f)
		}
		m.face(append([]int32(nil), f...)...)
		return
	}
	for _, t := range triangulate(loops, flatten) {
		if !up {
			t[1], t[2] = t[2], t[1]
		}
		m.face(t[0], t[1], t[2])
	}
}

func convex(loop []int32, at func(int32) P2) bool {
	for i := range loop {
		j, k := (i+1)%len(loop), (i+2)%len(loop)
		if orient(at(loop[i]), at(loop[j]), at(loop[k])) < -1e-9 {
			return false
		}
	}
	return true
}

// Block returns a box of size x, y, z with its low face's middle at the
// origin, the upright edges rounded by r and a bevel round both ends.
func Block(x, y, z, r, bevel float64) Mesh {
	return Extruded(Slab{Outline: Rect(0, 0, x, y, r), Z1: z, Bevel: bevel})
}
