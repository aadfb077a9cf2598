package mechanism

import s "pintle/assets/internal/solid"

// buildHip adds the flange that bolts to a body, the neck and the hub.
func buildHip(m *s.Mesh, h s.Frame) {
	m.Join(s.Turned([]s.P2{
		{X: hipPinR, Y: -plateIn},
		{X: 38, Y: -plateIn},
		{X: 40, Y: -plateIn + 2},
		{X: 40, Y: -9},
		{X: 38, Y: -7},
		{X: 38, Y: 7},
		{X: 40, Y: 9},
		{X: 40, Y: plateIn - 2},
		{X: 38, Y: plateIn},
		{X: hipPinR, Y: plateIn},
	}, 72), h.Then(s.AlongX()))
	m.Join(s.Lofted([][]s.Vec{
		s.Section(s.Rect(0, 0, 44, 58, 10), h.Then(s.Shift(0, 0, 24))),
		s.Section(s.Rect(0, 0, 44, 52, 10), h.Then(s.Shift(0, 0, 52))),
		s.Section(s.Rect(0, 0, 78, 78, 24), h.Then(s.Shift(0, 0, 78))),
		s.Section(s.Rect(0, 0, 78, 78, 24), h.Then(s.Shift(0, 0, 82))),
	}), s.World())
	m.Join(s.Turned([]s.P2{{X: 0, Y: 79}, {X: 66, Y: 79}, {X: 68, Y: 81}, {X: 68, Y: 93}, {X: 66, Y: 95}, {X: 44, Y: 95}, {X: 42, Y: 99}, {X: 0, Y: 99}}, 64), h)
	m.OnCircle(s.HexBolt(5, 5), h.Then(s.Shift(0, 0, 79), s.TurnX(s.Deg(180))), 57, 8, s.Deg(22.5))
	rib := s.Extruded(s.Slab{Outline: []s.P2{{X: 20, Y: 50}, {X: 30, Y: 50}, {X: 54, Y: 78}, {X: 54, Y: 81}, {X: 20, Y: 81}}, Z0: -3, Z1: 3, Bevel: 0.8})
	for k := range 4 {
		m.Join(rib, h.Then(s.TurnZ(s.Deg(90*float64(k))), upright()))
	}
	m.Join(s.Block(18, 26, 12, 2, 1), h.Then(s.Shift(0, 26, 58), s.AlongY(), s.Shift(0, 0, -6)))
}

// buildThigh adds the plates, the tubes between them, the hip's pin and the
// motor.
func buildThigh(m *s.Mesh, f legFrames) {
	t := f.thigh
	across := t.Then(s.AlongX())
	pts := append(s.Circle(0, 0, 36, 80), s.Circle(6, -205, 27, 72)...)
	windows := [][]s.P2{
		s.Rounded([]s.Corner{{X: -20, Y: -84, R: 7}, {X: 24, Y: -84, R: 7}, {X: 21, Y: -52, R: 7}, {X: -20, Y: -52, R: 7}}, s.Deg(22.5)),
		s.Rounded([]s.Corner{{X: -16, Y: -128, R: 7}, {X: 24, Y: -128, R: 7}, {X: 24, Y: -98, R: 7}, {X: -19, Y: -98, R: 7}}, s.Deg(22.5)),
		s.Rounded([]s.Corner{{X: -13, Y: -166, R: 7}, {X: 23, Y: -166, R: 7}, {X: 24, Y: -141, R: 7}, {X: -15, Y: -141, R: 7}}, s.Deg(22.5)),
	}
	for _, x := range []float64{plateIn, -plateIn - plateThick} {
		m.Join(s.Extruded(s.Slab{Outline: s.Hull(pts), Holes: windows, Z0: x, Z1: x + plateThick, Bevel: 1.2, HoleBev: 1}), across)
	}
	m.Join(s.Drum(hipPinR, -34, 34, 1, 56), across)
	for _, p := range []s.P2{{X: -20, Y: -91}, {X: 25, Y: -91}, {X: -17, Y: -134.5}, {X: 25, Y: -134.5}} {
		m.Join(s.Drum(5.5, -26, 26, 0.8, 20), across.Then(s.Shift(p.X, p.Y, 0)))
		for _, side := range []float64{-1, 1} {
			m.Join(s.CapScrew(4, 4), t.Then(s.Shift((plateIn+plateThick)*side, p.X, p.Y), s.TurnY(s.Deg(90*side))))
		}
	}
	for _, side := range []float64{-1, 1} {
		hub := t.Then(s.Shift((plateIn+plateThick)*side, 0, 0), s.TurnY(s.Deg(90*side)))
		m.Join(s.Turned([]s.P2{{X: 0, Y: -1}, {X: 30, Y: -1}, {X: 30, Y: 5}, {X: 28, Y: 7}, {X: 0, Y: 7}}, 56), hub)
		m.OnCircle(s.CapScrew(3, 3.5), hub.Then(s.Shift(0, 0, 7)), 25.5, 10, s.Deg(18))
		if side > 0 {
			m.Join(s.Motor(22, 58, 6, 44), hub.Then(s.Shift(0, 0, 6)))
			continue
		}
		m.Join(s.Turned([]s.P2{{X: 0, Y: 6}, {X: 20, Y: 6}, {X: 20, Y: 15}, {X: 18, Y: 17}, {X: 8, Y: 17}, {X: 7, Y: 20}, {X: 0, Y: 20}}, 40), hub)
	}
}

// buildKneeFork adds the knee's pin and caps between and on the plates.
func buildKneeFork(m *s.Mesh, f legFrames) {
	k := f.knee
	m.Join(s.Drum(kneePinR, -33, 33, 0.8, 44), k.Then(s.AlongX()))
	for _, side := range []float64{-1, 1} {
		cap := k.Then(s.Shift((plateIn+plateThick)*side, 0, 0), s.TurnY(s.Deg(90*side)))
		m.Join(s.Turned([]s.P2{{X: 0, Y: -1}, {X: 21, Y: -1}, {X: 21, Y: 4}, {X: 19, Y: 6}, {X: 10, Y: 6}, {X: 8.5, Y: 9}, {X: 0, Y: 9}}, 44), cap)
		m.OnCircle(s.CapScrew(2.6, 3), cap.Then(s.Shift(0, 0, 6)), 14.5, 6, 0)
	}
}

// buildShank adds the knee's hub, true to the hinge, and the housing round it,
// which is not.
func buildShank(m *s.Mesh, f legFrames) {
	m.Join(s.Ring(17, kneePinR, -plateIn, plateIn, 0.8, 52), f.shank.Then(s.AlongX()))
	m.Join(s.Turned([]s.P2{
		{X: 14, Y: -housingHalf},
		{X: housingR - 1.5, Y: -housingHalf},
		{X: housingR, Y: -housingHalf + 1.5},
		{X: housingR, Y: housingHalf - 1.5},
		{X: housingR - 1.5, Y: housingHalf},
		{X: 14, Y: housingHalf},
	}, 80), f.housing.Then(s.AlongX()))
	m.Join(s.Lofted([][]s.Vec{
		s.Section(s.Rect(0, 3, 30, 32, 8), f.shank.Then(s.Shift(0, 0, -84))),
		s.Section(s.Rect(0, 3, 30, 32, 8), f.shank.Then(s.Shift(0, 0, -78))),
		s.Section(s.Rect(0, 0, 34, 46, 8), f.shank.Then(s.Shift(0, 0, -46))),
		s.Section(s.Rect(0, 0, 34, 54, 8), f.shank.Then(s.Shift(0, 0, -22))),
	}), s.World())
	for _, z := range []float64{-44, -62} {
		for _, side := range []float64{-1, 1} {
			m.Join(s.CapScrew(3.4, 3.5), f.shank.Then(s.Shift(17*side-(z+44)*side/18, 2, z), s.TurnY(s.Deg(90*side))))
		}
	}
}

// buildShankTube adds the lower tube, its ferrules and the fork at the ankle.
func buildShankTube(m *s.Mesh, f legFrames) {
	tube := f.shank.Then(s.Shift(0, 3, 0))
	m.Join(s.Turned([]s.P2{
		{X: 0, Y: -206},
		{X: 17, Y: -206},
		{X: 18, Y: -205},
		{X: 18, Y: -192},
		{X: 16, Y: -189},
		{X: 12.5, Y: -186},
		{X: 12.5, Y: -106},
		{X: 16, Y: -103},
		{X: 19, Y: -99},
		{X: 19, Y: -82},
		{X: 17, Y: -79},
		{X: 0, Y: -79},
	}, 48), tube)
	for _, z := range []float64{-202, -96} {
		for k := range 4 {
			m.Join(s.CapScrew(2.4, 2.4), tube.Then(s.TurnZ(s.Deg(45+90*float64(k))), s.Shift(18.4, 0, z+3), s.AlongX()))
		}
	}
	a := f.ankle
	m.Join(s.Lofted([][]s.Vec{
		s.Section(s.Rect(0, 0, 24, 24, 9), tube.Then(s.Shift(0, 0, -216))),
		s.Section(s.Rect(0, 0, 24, 24, 9), tube.Then(s.Shift(0, 0, -203))),
	}), s.World())
	m.Join(s.Block(46, 32, 14, 5, 1.2), a.Then(s.Shift(0, 0, 21)))
	pts := append(s.Circle(0, 0, 16, 52), s.Circle(-9, 29, 5, 24)...)
	pts = append(pts, s.Circle(9, 29, 5, 24)...)
	for _, x := range []float64{ankleHalf, -ankleHalf - 8} {
		m.Join(s.Extruded(s.Slab{Outline: s.Hull(pts), Z0: x, Z1: x + 8, Bevel: 1}), a.Then(s.AlongX()))
	}
	m.Join(s.Drum(anklePinR, -23, 23, 0.6, 36), a.Then(s.AlongX()))
	for _, side := range []float64{-1, 1} {
		m.Join(s.HexBolt(8.5, 4), a.Then(s.Shift(22*side, 0, 0), s.TurnY(s.Deg(90*side))))
	}
	spring := f.shank
	var path []s.Vec
	for _, p := range []s.Vec{{Y: -19, Z: -60}, {Y: -22, Z: -84}, {Y: -21, Z: -130}, {Y: -20, Z: -176}, {Y: -15, Z: -206}} {
		path = append(path, spring.At(p))
	}
	m.Join(s.Pipe(path, 3.2, 12, 5), s.World())
	for _, z := range []float64{-92, -196} {
		m.Join(s.Block(9, 22, 8, 2, 0.8), f.shank.Then(s.Shift(0, -14, z)))
	}
}

// buildFoot adds the ankle's hub, the instep and four toes.
func buildFoot(m *s.Mesh, d s.Frame) {
	m.Join(s.Ring(15, anklePinR, -ankleHalf, ankleHalf, 0.8, 48), d.Then(s.AlongX()))
	m.Join(s.Lofted([][]s.Vec{
		s.Section(s.Rect(0, 0, 44, 46, 14), d.Then(s.Shift(0, 4, -46))),
		s.Section(s.Rect(0, 0, 46, 48, 14), d.Then(s.Shift(0, 4, -44))),
		s.Section(s.Rect(0, 0, 40, 42, 12), d.Then(s.Shift(0, 3, -30))),
		s.Section(s.Rect(0, 0, 25, 22, 6), d.Then(s.Shift(0, 0, -19))),
		s.Section(s.Rect(0, 0, 25, 22, 6), d.Then(s.Shift(0, 0, -10))),
	}), s.World())
	for _, toe := range []struct{ yaw, length, width float64 }{{-31, 104, 20}, {0, 122, 22}, {31, 104, 20}, {180, 62, 20}} {
		buildToe(m, d.Then(s.Shift(0, 4, -46), s.TurnZ(s.Deg(toe.yaw))), toe.length, toe.width)
	}
}

// buildToe adds a toe that runs along Y of the frame: a bowed blade, a rib and
// a pad with treads.
func buildToe(m *s.Mesh, d s.Frame, length, width float64) {
	l := length
	blade := s.Rounded([]s.Corner{
		{X: 8, Y: 2}, {X: 0.55 * l, Y: 0}, {X: l - 8, Y: -9, R: 20}, {X: l, Y: -9, R: 2}, {X: l, Y: -2, R: 3}, {X: l - 12, Y: 3, R: 16}, {X: 0.5 * l, Y: 11, R: 40}, {X: 8, Y: 14},
	}, s.Deg(12))
	m.Join(s.Extruded(s.Slab{Outline: blade, Z0: -width / 2, Z1: width / 2, Bevel: 1.2}), d.Then(s.AlongX()))
	m.Join(s.Extruded(s.Slab{Outline: []s.P2{{X: 12, Y: 8}, {X: 0.8 * l, Y: 2}, {X: 0.5 * l, Y: 15}, {X: 14, Y: 26}}, Z0: -3, Z1: 3, Bevel: 0.8}), d.Then(s.AlongX()))
	for k := range 4 {
		m.Join(s.Block(width+2, 6, 6, 0, 1), d.Then(s.Shift(0, l-8-10*float64(k), -13+1.4*float64(k))))
	}
	m.Join(s.CapScrew(3.4, 3.5), d.Then(s.Shift(0, 0.9*l, -1)))
}
