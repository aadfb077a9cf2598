package mechanism

import s "pintle/assets/internal/solid"

// unevenAngles returns the steps of the hub's rim: twice as dense over the
// half that faces the beam, as a modeller leaves them after a fillet.
func unevenAngles() []float64 {
	var a []float64
	for i := range 24 {
		a = append(a, s.Deg(7.5*float64(i)))
	}
	for i := range 48 {
		a = append(a, s.Deg(180+3.75*float64(i)))
	}
	return a
}

// buildForearm adds the hub of the elbow, the beam, the heel and the guard.
func buildForearm(m *s.Mesh, f armFrames) {
	g := f.fore
	rim := []s.P2{
		{X: hubPinR, Y: -hubHalf},
		{X: hubRadius - 1.5, Y: -hubHalf},
		{X: hubRadius, Y: -hubHalf + 1.5},
		{X: hubRadius, Y: hubHalf - 1.5},
		{X: hubRadius - 1.5, Y: hubHalf},
		{X: hubPinR, Y: hubHalf},
	}
	hs := hubHarmonics()
	fork := f.wristPin.Then(s.TurnZ(s.Deg(90))) // so that the loft twists the short way
	m.Join(s.TurnedAt(rim, unevenAngles(), func(k int, a, r float64) float64 {
		if rim[k].X == hubPinR {
			return r
		}
		return r + out(hs, a, rim[k].Y/hubHalf)
	}), g.Then(s.AlongX()))
	m.Join(s.Lofted([][]s.Vec{
		s.Section(s.Rect(0, 4, 54, 44, 8), g.Then(s.Shift(0, 0, 22))),
		s.Section(s.Rect(0, 4, 54, 46, 8), g.Then(s.Shift(0, 0, 62))),
		s.Section(s.Rect(0, 2, 46, 38, 8), g.Then(s.Shift(0, 0, 196))),
		s.Section(s.Rect(0, 2, 46, 38, 8), g.Then(s.Shift(0, 0, 212))),
		s.Section(s.Rect(0, 0, 46, 60, 8), fork.Then(s.Shift(0, 0, -50))),
		s.Section(s.Rect(0, 0, 46, 60, 8), fork.Then(s.Shift(0, 0, -35))),
		s.Section(s.Rect(0, 0, 43, 57, 7), fork.Then(s.Shift(0, 0, -33.5))),
	}), s.World())
	m.Join(s.Lofted([][]s.Vec{
		s.Section(s.Rect(0, 4, 60, 51, 9), g.Then(s.Shift(0, 0, 56))),
		s.Section(s.Rect(0, 4, 62, 53, 9), g.Then(s.Shift(0, 0, 57.5))),
		s.Section(s.Rect(0, 4, 62, 53, 9), g.Then(s.Shift(0, 0, 66.5))),
		s.Section(s.Rect(0, 4, 60, 51, 9), g.Then(s.Shift(0, 0, 68))),
	}), s.World())
	buildHeel(m, g)
	buildGuard(m, g)
	buildForearmCovers(m, g)
}

// buildHeel adds the stop behind the hub that meets the clevis floor.
func buildHeel(m *s.Mesh, g s.Frame) {
	h := heelCorner()
	outline := []s.P2{
		{X: 22, Y: -28}, h, {X: h.X + 7, Y: h.Y + 5}, {X: h.X + 8, Y: -12}, {X: 42, Y: 14}, {X: 22, Y: 24},
	}
	m.Join(s.Extruded(s.Slab{Outline: outline, Z0: -22, Z1: 22}), g.Then(s.AlongX()))
	for _, x := range []float64{-12, 12} {
		m.Join(s.HexBolt(5.5, 5), g.Then(s.Shift(x, h.X+7.6, -28), s.TurnX(s.Deg(-90))))
	}
}

// buildGuard adds the bent strap under the beam, its feet and the hoses that
// run through it.
func buildGuard(m *s.Mesh, g s.Frame) {
	c := guardCorner()
	const wall = 4.0
	strap := []s.P2{
		{X: -17, Y: 52},
		c,
		{X: c.X, Y: 138},
		{X: -17, Y: 160},
		{X: -17, Y: 153},
		{X: c.X + wall, Y: 136},
		{X: c.X + wall, Y: c.Y + 2},
		{X: -17, Y: 59},
	}
	m.Join(s.Extruded(s.Slab{Outline: strap, Z0: -19, Z1: 19}), g.Then(s.AlongX()))
	for _, x := range []float64{-8, 8} {
		var path []s.Vec
		for _, p := range []s.Vec{
			{X: x, Y: -12, Z: 64},
			{X: x, Y: -24, Z: 74},
			{X: x, Y: -31, Z: 96},
			{X: x, Y: -32, Z: 124},
			{X: x, Y: -24, Z: 160},
			{X: x, Y: -21, Z: 184},
			{X: x, Y: -14, Z: 200},
		} {
			path = append(path, g.At(p))
		}
		m.Join(s.Pipe(path, 4.5, 12, 4), s.World())
	}
}

// buildForearmCovers adds the screwed covers on the beam's sides and back.
func buildForearmCovers(m *s.Mesh, g s.Frame) {
	for _, side := range []float64{-1, 1} {
		plate := g.Then(s.Shift(23*side, 4, 128), s.TurnY(s.Deg(90*side)))
		m.Join(s.Extruded(s.Slab{Outline: s.Rect(0, 0, 104, 26, 5), Z0: -3, Z1: 4.4, Bevel: 1}), plate)
		m.Join(s.Extruded(s.Slab{Outline: s.Rect(0, 0, 62, 12, 5), Z0: 3, Z1: 6, Bevel: 1}), plate)
		for _, x := range []float64{-45, 45} {
			for _, y := range []float64{-8, 8} {
				m.Join(s.CapScrew(2.6, 2.8), plate.Then(s.Shift(x, y, 4.4)))
			}
		}
	}
	back := g.Then(s.Shift(0, 22, 132), s.TurnX(s.Deg(-90)))
	m.Join(s.Extruded(s.Slab{Outline: s.Rect(0, 0, 28, 84, 4), Z0: -3, Z1: 5, Bevel: 1.2}), back)
	for _, y := range []float64{-20, -10, 0, 10, 20} {
		m.Join(s.Block(22, 4, 3, 1, 0.6), back.Then(s.Shift(0, y, 4.5)))
	}
	for _, y := range []float64{-36, 36} {
		for _, x := range []float64{-9, 9} {
			m.Join(s.CapScrew(2.6, 2.8), back.Then(s.Shift(x, y, 5)))
		}
	}
}

// Sizes of the wrist's bend joint.
const (
	wristPinR = 9.0
	wristHalf = 19.0
)

// buildForearmFork adds the cheeks and the pin that carry the wrist.
func buildForearmFork(m *s.Mesh, f armFrames) {
	w := f.wristPin
	pts := s.Circle(0, 0, 23, 64)
	for _, y := range []float64{-17, 17} {
		pts = append(pts, s.Circle(y, -44, 5, 24)...)
	}
	for _, x := range []float64{wristHalf, -wristHalf - 13} {
		m.Join(s.Extruded(s.Slab{Outline: s.Hull(pts), Z0: x, Z1: x + 13, Bevel: 1.5}), w.Then(s.AlongX()))
	}
	m.Join(s.Drum(wristPinR, -34, 34, 1, 40), w.Then(s.AlongX()))
	for _, side := range []float64{-1, 1} {
		cap := w.Then(s.Shift(32*side, 0, 0), s.TurnY(s.Deg(90*side)))
		m.Join(s.Turned([]s.P2{
			{X: 0, Y: -2}, {X: 18, Y: -2}, {X: 18, Y: 3}, {X: 16.5, Y: 4.5}, {X: 9, Y: 4.5}, {X: 8, Y: 7}, {X: 0, Y: 7},
		}, 44), cap)
		m.OnCircle(s.CapScrew(2.4, 2.6), cap.Then(s.Shift(0, 0, 4.5)), 12.8, 6, s.Deg(20))
	}
}

// Sizes of the wrist's roll joint.
const rollPinR = 13.0

// buildWrist adds the hub between the fork, the roll bearing and its spigot.
func buildWrist(m *s.Mesh, f armFrames) {
	w := f.wrist
	m.Join(s.Ring(22, wristPinR, -wristHalf, wristHalf, 1.2, 56), w.Then(s.AlongX()))
	m.Join(s.Lofted([][]s.Vec{
		s.Section(s.Rect(0, 0, 32, 30, 7), w.Then(s.Shift(0, 0, 13))),
		s.Section(s.Rect(0, 0, 34, 34, 9), w.Then(s.Shift(0, 0, 38))),
	}), s.World())
	m.Join(s.Turned([]s.P2{
		{X: 0, Y: 32},
		{X: 20, Y: 32},
		{X: 28, Y: 37},
		{X: 29, Y: 39},
		{X: 29, Y: 45},
		{X: 27, Y: 46.5},
		{X: 27, Y: 49},
		{X: 29, Y: 50.5},
		{X: 29, Y: 60},
		{X: 27, Y: palmUp},
		{X: rollPinR, Y: palmUp},
		{X: rollPinR, Y: palmUp + 25},
		{X: rollPinR - 1.5, Y: palmUp + 26.5},
		{X: 0, Y: palmUp + 26.5},
	}, 56), w)
	for i := range 12 {
		at := w.Then(s.TurnZ(s.Deg(30*float64(i))), s.Shift(28.6, 0, 55.2), s.AlongX())
		m.Join(s.Block(3, 6, 1.6, 0, 0.4), at)
	}
	m.Join(s.Block(14, 24, 12, 2, 1), w.Then(s.TurnZ(s.Deg(70)), s.Shift(22, 0, 47.5), s.AlongX()))
}
