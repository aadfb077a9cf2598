package mechanism

import s "pintle/assets/internal/solid"

// Sizes of the leaf.
const (
	leafStart  = 34.0
	leafLength = 640.0
	girderX    = 128.0
)

// beam returns the outline of an I-beam of height h and width w, lying along
// Z, its web upright along Y.
func beam(w, h, flange, web float64) []s.P2 {
	return s.Rounded([]s.Corner{
		{X: -w / 2, Y: -h / 2},
		{X: w / 2, Y: -h / 2},
		{X: w / 2, Y: -h/2 + flange},
		{X: web / 2, Y: -h/2 + flange, R: 3},
		{X: web / 2, Y: h/2 - flange, R: 3},
		{X: w / 2, Y: h/2 - flange},
		{X: w / 2, Y: h / 2},
		{X: -w / 2, Y: h / 2},
		{X: -w / 2, Y: h/2 - flange},
		{X: -web / 2, Y: h/2 - flange, R: 3},
		{X: -web / 2, Y: -h/2 + flange, R: 3},
		{X: -w / 2, Y: -h/2 + flange},
	}, s.Deg(30))
}

// alongRoad turns an outline (x, z) that is extruded along Z to run along Y.
func alongRoad() s.Frame {
	return s.Frame{X: s.Vec{X: -1}, Y: s.Vec{Z: 1}, Z: s.Vec{Y: 1}}
}

// buildLeafFrame adds the main girders, the cross beams, the bracing and the
// bracket for the strut.
func buildLeafFrame(m *s.Mesh, l s.Frame) {
	for _, x := range []float64{-girderX, girderX} {
		m.Join(s.Extruded(s.Slab{Outline: beam(34, 56, 6, 7), Z0: leafStart, Z1: leafStart + leafLength}), l.Then(s.Shift(x, 0, -26), alongRoad()))
		for k := range 7 {
			for _, side := range []float64{-1, 1} {
				m.Join(s.Block(12, 5, 45, 0, 0), l.Then(s.Shift(x+side*9, 76+93*float64(k), -48.5)))
			}
		}
	}
	for k := range 7 {
		y, h := 62+98*float64(k), 38.0
		if k == 2 {
			h = 20 // the strut's rod passes below
		}
		m.Join(s.Extruded(s.Slab{Outline: beam(18, h, 4, 5), Z0: -girderX + 3, Z1: girderX - 3}), l.Then(s.Shift(0, y, -1-h/2), s.Frame{X: s.Vec{Y: 1}, Y: s.Vec{Z: 1}, Z: s.Vec{X: 1}}))
	}
	for _, k := range []int{0, 1, 3, 4, 5} { // the strut takes up the third bay
		y := 62 + 98*float64(k)
		from, to := s.Vec{X: -118, Y: y + 8, Z: -30}, s.Vec{X: 118, Y: y + 90, Z: -30}
		if k%2 == 1 {
			from.X, to.X = -from.X, -to.X
		}
		m.Join(s.Pipe([]s.Vec{l.At(from), l.At(to)}, 4, 8, 1), s.World())
	}
	head := l.Then(s.Shift(0, strutHeadY, strutHeadZ))
	pts := s.Circle(0, 0, 22, 48)
	for _, y := range []float64{-48, 48} {
		pts = append(pts, s.Circle(y, 34, 3, 16)...)
	}
	for _, x := range []float64{-27, 15} {
		m.Join(s.Extruded(s.Slab{Outline: s.Hull(pts), Z0: x, Z1: x + 12, Bevel: 1.2}), head.Then(s.AlongX()))
	}
	m.Join(s.Drum(11, -29, 29, 1, 36), head.Then(s.AlongX()))
	for _, side := range []float64{-1, 1} {
		m.Join(s.HexBolt(12, 5), head.Then(s.Shift(27*side, 0, 0), s.TurnY(s.Deg(90*side))))
	}
	m.Join(s.Block(90, 112, 8, 4, 1.5), head.Then(s.Shift(0, 0, 30)))
}

// buildLeafDeck adds the planks, the kerbs, the railings and the nose.
func buildLeafDeck(m *s.Mesh, l s.Frame) {
	const planks = 24
	pitch := leafLength / planks
	for k := range planks {
		m.Join(s.Block(296, pitch-2, 10, 0, 1.2), l.Then(s.Shift(0, leafStart+pitch*(float64(k)+0.5), 1)))
	}
	m.Join(s.Block(300, 16, 52, 3, 2), l.Then(s.Shift(0, leafStart+leafLength+2, -44)))
	m.Join(s.Block(120, 26, 12, 3, 2), l.Then(s.Shift(0, leafStart+leafLength+18, -34)))
	for _, x := range []float64{-140, 140} {
		m.Join(s.Block(14, leafLength-8, 14, 3, 2), l.Then(s.Shift(x, leafStart+leafLength/2, 8)))
		for k := range 7 {
			post := l.Then(s.Shift(x, leafStart+30+97*float64(k), 20))
			m.Join(s.Drum(4.2, 0, 74, 0.8, 14), post)
			m.Join(s.Turned([]s.P2{{X: 0, Y: -1}, {X: 9, Y: -1}, {X: 9, Y: 4}, {X: 6, Y: 6}, {X: 0, Y: 6}}, 16), post)
			m.Join(s.Turned([]s.P2{{X: 0, Y: 72}, {X: 6, Y: 72}, {X: 7.5, Y: 76}, {X: 6, Y: 81}, {X: 0, Y: 84}}, 16), post)
		}
		for _, z := range []float64{44, 66, 90} {
			a, b := s.Vec{X: x, Y: leafStart + 22, Z: z}, s.Vec{X: x, Y: leafStart + 620, Z: z}
			m.Join(s.Pipe([]s.Vec{l.At(a), l.At(b)}, 2.6, 12, 1), s.World())
		}
	}
}

// buildLeafLugs adds the lugs that turn on the abutment's pins.
func buildLeafLugs(m *s.Mesh, l s.Frame) {
	for _, x := range []float64{-lugAt, lugAt} {
		m.Join(s.Ring(27, hingePinR, x-lugHalf, x+lugHalf, 1.2, 56), l.Then(s.AlongX()))
		arm := s.Rounded([]s.Corner{{X: 19, Y: -15}, {X: 44, Y: -53}, {X: 92, Y: -53, R: 4}, {X: 92, Y: 1, R: 4}, {X: 30, Y: 1, R: 6}, {X: 19, Y: 14}}, s.Deg(30))
		m.Join(s.Extruded(s.Slab{Outline: arm, Z0: x - 12, Z1: x + 12, Bevel: 1.2}), l.Then(s.AlongX()))
		for _, p := range []s.P2{{X: 58, Y: -40}, {X: 80, Y: -40}, {X: 58, Y: -14}, {X: 80, Y: -14}} {
			for _, side := range []float64{-1, 1} {
				m.Join(s.HexBolt(4, 4), l.Then(s.Shift(x+12*side, p.X, p.Y), s.TurnY(s.Deg(90*side))))
			}
		}
	}
}
