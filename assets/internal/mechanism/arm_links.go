package mechanism

import s "pintle/assets/internal/solid"

// buildUpperLink adds the link between shoulder and clevis: a hub, two side
// plates with windows and a spine between them.
func buildUpperLink(m *s.Mesh, f armFrames) {
	across := f.upper.Then(s.AlongX())
	m.Join(s.Turned([]s.P2{
		{X: 20, Y: -36},
		{X: 30, Y: -36},
		{X: 32, Y: -34},
		{X: 38, Y: -34},
		{X: 40, Y: -32},
		{X: 40, Y: 32},
		{X: 38, Y: 34},
		{X: 32, Y: 34},
		{X: 30, Y: 36},
		{X: 20, Y: 36},
	}, 64), across)
	plate := s.Hull(append(s.Circle(0, 0, 36, 72), append(s.Circle(14, 196, 10, 36), s.Circle(-14, 196, 10, 36)...)...))
	var windows [][]s.P2
	for _, w := range [][4]float64{{62, 44, 19, 17}, {114, 40, 17, 15}, {163, 38, 14.5, 13}} {
		z, h, a, b := w[0], w[1], w[2], w[3]
		windows = append(windows, s.Rounded([]s.Corner{
			{X: -a, Y: z - h/2, R: 6}, {X: a, Y: z - h/2, R: 6}, {X: b, Y: z + h/2, R: 6}, {X: -b, Y: z + h/2, R: 6},
		}, s.Deg(22.5)))
	}
	for _, x := range []float64{20, -31} {
		m.Join(s.Extruded(s.Slab{
			Outline: plate, Holes: append([][]s.P2{s.Circle(0, 0, 27, 48)}, windows...),
			Z0: x, Z1: x + 11, Bevel: 1.5, HoleBev: 1.2,
		}), across)
	}
	m.Join(s.Lofted([][]s.Vec{
		s.Section(s.Rect(0, 0, 46, 34, 6), f.upper.Then(s.Shift(0, 0, 24))),
		s.Section(s.Rect(0, 0, 46, 20, 6), f.upper.Then(s.Shift(0, 0, 62))),
		s.Section(s.Rect(0, 0, 46, 18, 6), f.upper.Then(s.Shift(0, 0, 160))),
		s.Section(s.Rect(0, 0, 46, 26, 6), f.upper.Then(s.Shift(0, 0, 196))),
	}), s.World())
	for _, z := range []float64{36, 88, 139} {
		for _, y := range []float64{-17, 17} {
			bar := across.Then(s.Shift(y, z, 0))
			m.Join(s.Drum(5, -28, 28, 1, 20), bar)
			m.Join(s.CapScrew(4.2, 4), f.upper.Then(s.Shift(31, y, z), s.TurnY(s.Deg(90))))
			m.Join(s.CapScrew(4.2, 4), f.upper.Then(s.Shift(-31, y, z), s.TurnY(s.Deg(-90))))
		}
	}
	buildUpperHoses(m, f)
}

// buildUpperHoses adds two hoses behind the link and the saddles that hold
// them.
func buildUpperHoses(m *s.Mesh, f armFrames) {
	for _, x := range []float64{-7, 7} {
		var path []s.Vec
		for _, p := range []s.Vec{
			{X: x, Y: 34, Z: 30},
			{X: x, Y: 33, Z: 44},
			{X: x, Y: 31, Z: 90},
			{X: x, Y: 31, Z: 140},
			{X: x, Y: 33, Z: 176},
			{X: x, Y: 28, Z: 204},
			{X: x, Y: 16, Z: 214},
		} {
			path = append(path, f.upper.At(p))
		}
		m.Join(s.Pipe(path, 4.5, 12, 4), s.World())
	}
	for _, z := range []float64{58, 122, 168} {
		saddle := f.upper.Then(s.Shift(0, 26, z), s.AlongY())
		m.Join(s.Block(12, 44, 12, 2, 1), saddle)
		for _, x := range []float64{-17, 17} {
			m.Join(s.CapScrew(2.8, 3), saddle.Then(s.Shift(0, x, 12)))
		}
	}
}

// buildClevis adds the head of the upper link: the block that turns from the
// link's own directions to those of the skewed elbow, its cheeks, the pin and
// the stop pad.
func buildClevis(m *s.Mesh, f armFrames) {
	k := f.elbow
	m.Join(s.Lofted([][]s.Vec{
		s.Section(s.Rect(0, 0, 66, 50, 8), f.upper.Then(s.Shift(0, 0, 174))),
		s.Section(s.Rect(0, 0, 70, 54, 8), f.upper.Then(s.Shift(0, 0, 177))),
		s.Section(s.Rect(0, 0, 70, 54, 8), f.upper.Then(s.Shift(0, 0, 184))),
		s.Section(s.Rect(0, 34, 100, 60, 8), k.Then(s.Shift(0, 0, -96))),
		s.Section(s.Rect(0, 34, 100, 60, 8), k.Then(s.Shift(0, 0, clevisFloor-2))),
		s.Section(s.Rect(0, 34, 96, 56, 6), k.Then(s.Shift(0, 0, clevisFloor))),
	}), s.World())
	across := k.Then(s.AlongX())
	pts := s.Circle(0, 0, 42, 80)
	for _, c := range []s.P2{{X: 10, Y: -98}, {X: 58, Y: -98}} {
		pts = append(pts, s.Circle(c.X, c.Y, 8, 32)...)
	}
	window := s.Rounded([]s.Corner{{X: 8, Y: -66, R: 5}, {X: 50, Y: -66, R: 5}, {X: 40, Y: -46, R: 5}, {X: 10, Y: -50, R: 5}}, s.Deg(22.5))
	cheek := s.Slab{Outline: s.Hull(pts), Holes: [][]s.P2{window}, Z0: hubHalf, Z1: 52, Bevel: 2, HoleBev: 1.5}
	m.Join(s.Extruded(cheek), across)
	cheek.Z0, cheek.Z1 = -52, -hubHalf
	m.Join(s.Extruded(cheek), across)
	m.Join(s.Drum(hubPinR, -55, 55, 1.5, 48), across)
	for _, side := range []float64{-1, 1} {
		outward := s.TurnY(s.Deg(90 * side))
		cap := k.Then(s.Shift(52*side, 0, 0), outward)
		m.Join(s.Turned([]s.P2{
			{X: 0, Y: -2},
			{X: 31, Y: -2},
			{X: 31, Y: 5},
			{X: 29, Y: 7},
			{X: 17, Y: 7},
			{X: 15, Y: 9},
			{X: 15, Y: 12},
			{X: 13, Y: 14},
			{X: 0, Y: 14},
		}, 56), cap)
		m.OnCircle(s.CapScrew(3.2, 4), cap.Then(s.Shift(0, 0, 7)), 23.5, 8, s.Deg(9))
		for _, p := range []s.P2{{X: 14, Y: -92}, {X: 34, Y: -84}, {X: 54, Y: -92}} {
			m.Join(s.CapScrew(4.2, 5), k.Then(s.Shift(52*side, p.X, p.Y), outward))
		}
	}
	pad := k.Then(s.Shift(0, 5, padTouch), s.TurnX(s.Deg(90)))
	m.Join(s.Block(50, 28, 5-padFace, 3, 1), pad)
}
