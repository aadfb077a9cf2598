package mechanism

import s "pintle/assets/internal/solid"

// upright turns an outline drawn in (radial, height) so that it stands on its
// lower edge.
func upright() s.Frame { return s.TurnX(s.Deg(90)) }

func buildPedestal(m *s.Mesh, f armFrames) {
	plate := s.Rect(0, 0, 236, 204, 26)
	m.Join(s.Extruded(s.Slab{Outline: plate, Z0: 0, Z1: 18, Bevel: 2.5}), f.foot)
	for _, x := range []float64{-94, 94} {
		for _, y := range []float64{-78, 78} {
			m.Join(s.HexBolt(10, 11), f.foot.Then(s.Shift(x, y, 18), s.TurnZ(0.1*x)))
		}
	}
	m.Join(s.Lofted([][]s.Vec{
		s.Section(s.Rect(0, 0, 188, 164, 40), f.foot.Then(s.Shift(0, 0, 15))),
		s.Section(s.Rect(0, 0, 184, 160, 40), f.foot.Then(s.Shift(0, 0, 22))),
		s.Section(s.Rect(0, 0, 166, 166, 66), f.column.Then(s.Shift(0, 0, 18))),
		s.Section(s.Rect(0, 0, 162, 162, 66), f.column.Then(s.Shift(0, 0, 21))),
	}), s.World())
	m.Join(s.Turned([]s.P2{
		{X: 0, Y: 12},
		{X: 78, Y: 12},
		{X: 78, Y: 31},
		{X: 76, Y: 33},
		{X: 63, Y: 33},
		{X: 59, Y: 36},
		{X: 57, Y: 40},
		{X: 53, Y: 80},
		{X: 54, Y: 86},
		{X: 58, Y: 90},
		{X: 82, Y: 92},
		{X: 84, Y: 94},
		{X: 84, Y: columnTop},
		{X: 36, Y: columnTop},
		{X: 36, Y: 144},
		{X: 34, Y: 146},
		{X: 0, Y: 146},
	}, 72), f.column)
	m.OnCircle(s.CapScrew(5, 7), f.column.Then(s.Shift(0, 0, 33)), 69.5, 12, s.Deg(15))
	rib := s.Extruded(s.Slab{
		Outline: []s.P2{{X: 48, Y: 28}, {X: 75, Y: 28}, {X: 75, Y: 36}, {X: 58, Y: 88}, {X: 48, Y: 88}},
		Z0:      -3.5, Z1: 3.5, Bevel: 1,
	})
	for i := range 6 {
		m.Join(rib, f.column.Then(s.TurnZ(s.Deg(60*float64(i))), upright()))
	}
	buildJunctionBox(m, f)
}

// buildJunctionBox adds the box on the column's side, its lid and its hose.
func buildJunctionBox(m *s.Mesh, f armFrames) {
	box := f.column.Then(s.TurnZ(s.Deg(210)), s.Shift(46, 0, 62), s.AlongX())
	m.Join(s.Block(50, 42, 36, 4, 1), box)
	lid := box.Then(s.Shift(0, 0, 36))
	m.Join(s.Extruded(s.Slab{Outline: s.Rect(0, 0, 54, 46, 5), Z0: -2, Z1: 5, Bevel: 1.2}), lid)
	for _, x := range []float64{-21, 21} {
		for _, y := range []float64{-17, 17} {
			m.Join(s.CapScrew(3.2, 3), lid.Then(s.Shift(x, y, 5)))
		}
	}
	m.Join(s.Block(30, 12, 2, 1.5, 0.6), lid.Then(s.Shift(0, 2, 4.2)))
	gland := box.Then(s.Shift(12, -21, 18), s.TurnX(s.Deg(90)))
	m.Join(s.Drum(8, -2, 8, 1, 6), gland)
	m.Join(s.Drum(6.6, 6, 14, 1.5, 18), gland)
	foot := f.foot.Local(gland.At(s.Vec{Z: 40}))
	m.Join(s.Pipe([]s.Vec{
		gland.At(s.Vec{Z: 10}), gland.At(s.Vec{Z: 22}),
		f.foot.At(s.Vec{X: foot.X * 1.08, Y: foot.Y * 1.08, Z: 27}),
		f.foot.At(s.Vec{X: foot.X * 1.24, Y: foot.Y * 1.22, Z: 17}),
	}, 4.2, 12, 7), s.World())
}

func buildTurntable(m *s.Mesh, f armFrames) {
	m.Join(s.Turned([]s.P2{
		{X: 0, Y: 147},
		{X: 36, Y: 147},
		{X: 36, Y: columnTop},
		{X: 88, Y: columnTop},
		{X: 90, Y: 114},
		{X: 90, Y: 136},
		{X: 87, Y: 139},
		{X: 74, Y: 139},
		{X: 71, Y: 142},
		{X: 71, Y: 155},
		{X: 67, Y: 159},
		{X: 0, Y: 159},
	}, 80), f.table)
	gear := s.Slab{Outline: s.Gear(80, 90.5, 95), Holes: [][]s.P2{s.Circle(0, 0, 84, 48)}, Z0: 117, Z1: 129}
	m.Join(s.Extruded(gear), f.table)
	m.OnCircle(s.CapScrew(4, 5), f.table.Then(s.Shift(0, 0, 139)), 80.5, 16, s.Deg(11.25))
	buildYoke(m, f)
	buildShoulderDrive(m, f)
}

// buildYoke adds the two cheeks that carry the upper link and the pin.
func buildYoke(m *s.Mesh, f armFrames) {
	y0 := -6.0
	pts := s.Circle(y0, shoulderUp, 42, 72)
	for _, c := range []s.P2{{X: -58, Y: 140}, {X: 58, Y: 140}} {
		pts = append(pts, s.Circle(c.X, c.Y, 8, 32)...)
	}
	window := s.Rounded([]s.Corner{{X: -40, Y: 160, R: 7}, {X: 40, Y: 160, R: 7}, {X: 20, Y: 184, R: 9}, {X: -26, Y: 184, R: 9}}, s.Deg(20))
	for _, x := range []float64{36, -55} {
		m.Join(s.Extruded(s.Slab{
			Outline: s.Hull(pts), Holes: [][]s.P2{window}, Z0: x, Z1: x + 19, Bevel: 2, HoleBev: 1.5,
		}), f.table.Then(s.AlongX()))
	}
	for _, x := range []float64{-62, 62} {
		for _, y := range []float64{-44, 44} {
			m.Join(s.CapScrew(5, 6), f.table.Then(s.Shift(x, y, 139)))
		}
	}
	m.Join(s.Block(76, 13, 30, 3, 1.5), f.table.Then(s.Shift(0, 42, 152)))
	pin := f.table.Then(s.Shift(0, y0, shoulderUp), s.AlongX())
	m.Join(s.Drum(20, -58, 58, 1.5, 60), pin)
}

// buildShoulderDrive adds the gearbox and motor on one cheek and the bearing
// cap on the other.
func buildShoulderDrive(m *s.Mesh, f armFrames) {
	pin := f.table.Then(s.Shift(0, -6, shoulderUp), s.AlongX())
	m.Join(s.Turned([]s.P2{
		{X: 0, Y: 53}, {X: 36, Y: 53}, {X: 36, Y: 60}, {X: 34, Y: 62}, {X: 22, Y: 62}, {X: 20, Y: 64}, {X: 20, Y: 68}, {X: 17, Y: 70}, {X: 0, Y: 70},
	}, 60), pin)
	m.OnCircle(s.CapScrew(3.6, 4.5), pin.Then(s.Shift(0, 0, 62)), 28.5, 8, 0)
	drive := f.table.Then(s.Shift(0, -6, shoulderUp), s.TurnY(s.Deg(-90)))
	m.Join(s.Turned([]s.P2{
		{X: 0, Y: 53}, {X: 41, Y: 53}, {X: 41, Y: 63}, {X: 38, Y: 66}, {X: 36, Y: 66}, {X: 36, Y: 88}, {X: 33, Y: 92}, {X: 0, Y: 92},
	}, 64), drive)
	m.OnCircle(s.CapScrew(3.2, 4), drive.Then(s.Shift(0, 0, 92)), 28, 6, s.Deg(30))
	m.Join(s.Motor(25, 74, 6, 48), drive.Then(s.Shift(0, 0, 90)))
	m.Join(s.Block(22, 30, 12, 2, 1), drive.Then(s.TurnZ(s.Deg(-60)), s.Shift(19, 0, 118), s.AlongX()))
}
