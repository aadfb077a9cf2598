package mechanism

import s "pintle/assets/internal/solid"

// Sizes of the strut: the rod runs in the barrel's gland, its piston in the
// bore.
const (
	rodR      = 13.0
	boreR     = 21.0
	barrelEnd = 258.0
	rodReach  = 253.0 // from the head's pivot down to the piston's face
)

// buildBarrel adds the barrel: eye, tube with its bore, gland and ports.
func buildBarrel(m *s.Mesh, f s.Frame) {
	m.Join(s.Ring(22, 12, -17, 17, 1, 52), f.Then(s.AlongX()))
	m.Join(s.Turned([]s.P2{
		{X: 0, Y: 16},
		{X: 15, Y: 16},
		{X: 15, Y: 27},
		{X: 27, Y: 34},
		{X: 30, Y: 36},
		{X: 30, Y: 45},
		{X: 28, Y: 47},
		{X: 27, Y: 47},
		{X: 27, Y: 226},
		{X: 31, Y: 226},
		{X: 32, Y: 227},
		{X: 32, Y: 246},
		{X: 31, Y: 248},
		{X: 24, Y: 248},
		{X: 22, Y: 250},
		{X: 22, Y: 256},
		{X: 20, Y: barrelEnd},
		{X: rodR, Y: barrelEnd},
		{X: rodR, Y: 228},
		{X: boreR, Y: 228},
		{X: boreR, Y: 44},
		{X: 0, Y: 44},
	}, 56), f)
	for _, z := range []float64{57, 214} {
		port := f.Then(s.Shift(0, 24, z), s.TurnX(s.Deg(-90)))
		m.Join(s.Block(20, 20, 11, 2, 1), port)
		m.Join(s.Drum(7, 10, 18, 1, 6), port)
		m.Join(s.Drum(5, 16, 26, 1, 16), port)
	}
	at := func(y, z float64) s.Vec { return f.At(s.Vec{Y: y, Z: z}) }
	m.Join(s.Pipe([]s.Vec{at(46, 214), at(54, 210), at(56, 196), at(47, 150), at(36, 120), at(33.5, 96), at(33.5, 72)}, 3.6, 12, 5), s.World())
	for _, z := range []float64{86, 112} {
		m.Join(s.Ring(29.5, 26, z, z+9, 0.8, 48), f)
	}
	m.OnCircle(s.CapScrew(2.8, 3), f.Then(s.Shift(0, 0, 248)), 27.5, 8, 0)
}

// buildRod adds the rod: eye, neck, polished rod and piston.
func buildRod(m *s.Mesh, f s.Frame) {
	m.Join(s.Ring(20, 11, -15, 15, 1, 52), f.Then(s.AlongX()))
	m.Join(s.Turned([]s.P2{
		{X: 0, Y: -rodReach},
		{X: boreR - 1, Y: -rodReach},
		{X: boreR, Y: -rodReach + 1},
		{X: boreR, Y: -rodReach + 15},
		{X: boreR - 1, Y: -rodReach + 16},
		{X: rodR, Y: -rodReach + 16},
		{X: rodR, Y: -30},
		{X: 14, Y: -29},
		{X: 14, Y: -14},
		{X: 0, Y: -14},
	}, 52), f)
	m.Join(s.Drum(14.7, -39, -27, 1.2, 6), f)
}
