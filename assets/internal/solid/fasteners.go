package solid

import "math"

// CapScrew returns the head of a hexagon-socket screw: radius r, height h
// above the seat at z = 0, sunk by a little so that it joins what it stands on.
func CapScrew(r, h float64) Mesh {
	side := 2 // points on each edge of the socket
	if r >= 5 {
		side = 3
	}
	n := 6 * side
	sink, bevel := 0.2*h, 0.12*r
	hex := make([]P2, n)
	for i := range hex {
		a := polar(0.55*r, math.Pi/3*float64(i/side))
		b := polar(0.55*r, math.Pi/3*float64(i/side+1))
		hex[i] = lerp(a, b, float64(i%side)/float64(side))
	}
	round := Circle(0, 0, r, n)
	loops := [][]Vec{
		at(round, -sink), at(round, h-bevel), at(Circle(0, 0, r-bevel, n), h), at(hex, h), at(hex, 0.45*h),
	}
	return Lofted(loops)
}

// HexBolt returns a hexagon head on its washer: r is the radius over corners.
func HexBolt(r, h float64) Mesh {
	var m Mesh
	m.Join(Drum(1.18*r, -0.2*h, 0.22*h, 0.06*h, 24), World())
	hex := func(r, z float64) []Vec { return at(Circle(0, 0, r, 6), z) }
	m.Join(Lofted([][]Vec{hex(r, 0.1*h), hex(r, h-0.12*r), hex(0.86*r, h)}), World())
	return m
}

// OnCircle joins n copies of o on a circle of radius r about Z of the frame,
// the first at angle start, each turned with its place.
func (m *Mesh) OnCircle(o Mesh, at Frame, r float64, n int, start float64) {
	for i := range n {
		a := start + 2*math.Pi*float64(i)/float64(n)
		m.Join(o, at.Then(TurnZ(a), Shift(r, 0, 0)))
	}
}

// Motor returns a finned motor standing on z = 0: radius r, length h, with a
// front flange and a rear cap.
func Motor(r, h float64, fins, n int) Mesh {
	front, rear := 0.14*h, 0.2*h
	p := []P2{{0, 0}, {r, 0}, {r, front - 0.02*h}, {r - 0.02*h, front}}
	pitch := (h - front - rear) / float64(fins)
	for i := range fins {
		z := front + pitch*float64(i)
		p = append(p, P2{0.84 * r, z}, P2{0.84 * r, z + 0.45*pitch}, P2{0.97 * r, z + 0.5*pitch}, P2{0.97 * r, z + 0.95*pitch})
	}
	p = append(p, P2{0.8 * r, h - rear}, P2{0.88 * r, h - rear + 0.02*h}, P2{0.88 * r, h - 0.07*h}, P2{0.8 * r, h}, P2{0, h})
	return Turned(p, n)
}
