package mechanism

import (
	"math"

	s "pintle/assets/internal/solid"
)

// Names of the bridge's parts.
const (
	abutment = "abutment"
	leaf     = "leaf"
	barrel   = "strut barrel"
	rod      = "strut rod"
)

// The leaf stands partly open.
var leafOpen = s.Deg(37)

// Places in the bridge's own frame: X along the hinge, Y out over the water,
// Z up, the origin on the hinge.
const (
	strutFootY = 46.0 // lower pivot of the strut, fixed to the abutment
	strutFootZ = -196.0
	strutHeadY = 300.0 // upper pivot, in the leaf's frame
	strutHeadZ = -40.0
	lugAt      = 128.0 // middle of each hinge lug along the hinge
	lugHalf    = 16.0
	hingePinR  = 15.0
)

type bridgeFrames struct{ bank, leaf, foot, head s.Frame }

// newBridgeFrames sets the bridge askew to the world and finds the strut's
// direction from the two pivots it hangs between.
func newBridgeFrames(open float64) bridgeFrames {
	var f bridgeFrames
	f.bank = s.World().Then(s.TurnZ(s.Deg(31)), s.Shift(0, 0, 330), s.TurnY(s.Deg(2)))
	f.leaf = f.bank.Then(s.TurnX(open))
	foot := f.bank.At(s.Vec{Y: strutFootY, Z: strutFootZ})
	head := f.leaf.At(s.Vec{Y: strutHeadY, Z: strutHeadZ})
	up := head.Sub(foot).Unit()
	f.foot = s.Frame{O: foot, X: f.bank.X, Y: up.Cross(f.bank.X), Z: up}
	f.head = f.foot
	f.head.O = head
	return f
}

func (f bridgeFrames) strutLength() float64 { return f.head.O.Sub(f.foot.O).Norm() }

// strutRest is the strut's length when the leaf is down.
func strutRest() float64 { return math.Hypot(strutHeadY-strutFootY, strutHeadZ-strutFootZ) }

// Drawbridge returns a bridge with one leaf that a hydraulic strut lifts: a
// closed loop of three hinges and a slider.
func Drawbridge() Mechanism { return drawbridgeAt(leafOpen) }

func drawbridgeAt(open float64) Mechanism {
	f := newBridgeFrames(open)
	m := Mechanism{
		Name: "drawbridge", Title: "drawbridge lifted by a hydraulic strut",
		Notes: []string{"The leaf, the strut's barrel and its rod make a closed loop with the abutment: three hinges along one direction and a slider."},
	}
	buildPier(m.part(abutment), f.bank)
	buildRoad(m.part(abutment), f.bank)
	buildBearings(m.part(abutment), f.bank)
	buildLeafFrame(m.part(leaf), f.leaf)
	buildLeafDeck(m.part(leaf), f.leaf)
	buildLeafLugs(m.part(leaf), f.leaf)
	buildBarrel(m.part(barrel), f.foot)
	buildRod(m.part(rod), f.head)
	length := f.strutLength()
	lean := math.Atan2(f.foot.Z.Dot(f.bank.Y), f.foot.Z.Dot(f.bank.Z))
	m.Joints = []Joint{
		{Name: "leaf hinge", Kind: "revolute", Parent: abutment, Child: leaf, Origin: f.leaf.O, Axis: f.bank.X, Lower: 0, Upper: s.Deg(63), Value: open},
		{Name: "strut foot", Kind: "revolute", Parent: abutment, Child: barrel, Origin: f.foot.O, Axis: f.bank.X, Lower: s.Deg(-70), Upper: s.Deg(20), Value: -lean},
		{Name: "strut slide", Kind: "prismatic", Parent: barrel, Child: rod, Origin: f.head.O, Axis: f.foot.Z, Lower: 0, Upper: 166, Value: length - strutRest()},
		{Name: "strut head", Kind: "revolute", Parent: leaf, Child: rod, Origin: f.head.O, Axis: f.bank.X, Lower: s.Deg(-100), Upper: s.Deg(60), Value: -lean - open},
	}
	return m
}

// buildPier adds the stonework: courses of blocks on a stepped foot.
func buildPier(m *s.Mesh, b s.Frame) {
	for k, step := range []float64{44, 22} {
		m.Join(s.Block(430+2*step, 300+2*step, 26, 4, 2), b.Then(s.Shift(0, -186, -312+25*float64(k))))
	}
	const course = 33.0
	for row := range 7 {
		z := -262 + course*float64(row)
		n, off := 5, 0.0
		if row%2 == 1 {
			n, off = 6, 0.5
		}
		for i := range n {
			x0 := max(-215, -215+86*(float64(i)-off))
			x1 := min(215, -215+86*(float64(i)+1-off))
			// Front and back faces show the bond; the core is hidden.
			for _, y := range []float64{-66, -306} {
				m.Join(s.Block(x1-x0-2, 60, course-2, 0, 2.5), b.Then(s.Shift((x0+x1)/2, y, z+1)))
			}
		}
		for _, x := range []float64{-185, 185} {
			m.Join(s.Block(60, 178, course-2, 0, 2.5), b.Then(s.Shift(x, -186, z+1)))
		}
	}
	m.Join(s.Block(420, 290, 232, 0, 0), b.Then(s.Shift(0, -186, -263)))
	m.Join(s.Block(446, 316, 14, 5, 3), b.Then(s.Shift(0, -196, -32)))
}

// buildRoad adds the roadway on the pier, its kerbs, parapets and lamps.
func buildRoad(m *s.Mesh, b s.Frame) {
	m.Join(s.Block(300, 300, 26, 3, 2), b.Then(s.Shift(0, -190, -20)))
	for i := range 9 {
		m.Join(s.Block(292, 30, 3, 0, 1), b.Then(s.Shift(0, -325+33.5*float64(i), 5)))
	}
	for _, x := range []float64{-176, 176} {
		m.Join(s.Block(52, 300, 20, 3, 2), b.Then(s.Shift(x, -190, -19)))
		m.Join(s.Block(26, 230, 66, 3, 2), b.Then(s.Shift(x, -222, -2)))
		m.Join(s.Block(36, 238, 10, 5, 3), b.Then(s.Shift(x, -222, 63)))
		post := b.Then(s.Shift(x, -80, -2))
		m.Join(s.Block(44, 44, 92, 3, 2), post)
		m.Join(s.Block(54, 54, 12, 4, 3), post.Then(s.Shift(0, 0, 90)))
		m.Join(s.Turned([]s.P2{
			{X: 0, Y: 100},
			{X: 16, Y: 100},
			{X: 16, Y: 106},
			{X: 9, Y: 112},
			{X: 5.5, Y: 122},
			{X: 5, Y: 176},
			{X: 8, Y: 180},
			{X: 8, Y: 184},
			{X: 5, Y: 187},
			{X: 5, Y: 192},
			{X: 14, Y: 198},
			{X: 19, Y: 222},
			{X: 22, Y: 224},
			{X: 22, Y: 228},
			{X: 10, Y: 238},
			{X: 4, Y: 246},
			{X: 0, Y: 248},
		}, 24), post)
	}
}

// buildBearings adds the two pairs of cheeks that carry the hinge pins and the
// bracket that carries the strut.
func buildBearings(m *s.Mesh, b s.Frame) {
	pts := s.Circle(0, 0, 30, 64)
	for _, c := range []s.P2{{X: -44, Y: -92}, {X: -44, Y: -2}} {
		pts = append(pts, s.Circle(c.X, c.Y, 4, 24)...)
	}
	outline := s.Hull(pts)
	for _, x := range []float64{-lugAt, lugAt} {
		for _, y := range []float64{x - lugHalf - 16, x + lugHalf} {
			m.Join(s.Extruded(s.Slab{Outline: outline, Z0: y, Z1: y + 16, Bevel: 1.5}), b.Then(s.AlongX()))
		}
		m.Join(s.Drum(hingePinR, x-lugHalf-18, x+lugHalf+18, 1.2, 48), b.Then(s.AlongX()))
		m.Join(s.Block(lugHalf*2+44, 12, 106, 3, 1.5), b.Then(s.Shift(x, -40, -98)))
		for _, side := range []float64{-1, 1} {
			cap := b.Then(s.Shift(x+side*(lugHalf+16), 0, 0), s.TurnY(s.Deg(90*side)))
			m.Join(s.Turned([]s.P2{{X: 0, Y: -2}, {X: 24, Y: -2}, {X: 24, Y: 4}, {X: 22, Y: 6}, {X: 12, Y: 6}, {X: 10, Y: 9}, {X: 0, Y: 9}}, 40), cap)
			m.OnCircle(s.HexBolt(3.4, 3), cap.Then(s.Shift(0, 0, 6)), 17, 6, 0)
		}
	}
	foot := b.Then(s.Shift(0, strutFootY, strutFootZ))
	pts = s.Circle(0, 0, 24, 56)
	for _, z := range []float64{-46, 46} {
		pts = append(pts, s.Circle(-76, z, 5, 24)...)
	}
	for _, x := range []float64{-30, 17} {
		m.Join(s.Extruded(s.Slab{Outline: s.Hull(pts), Z0: x, Z1: x + 13, Bevel: 1.5}), foot.Then(s.AlongX()))
	}
	m.Join(s.Drum(12, -32, 32, 1, 40), foot.Then(s.AlongX()))
	for _, side := range []float64{-1, 1} {
		m.Join(s.HexBolt(13, 6), foot.Then(s.Shift(30*side, 0, 0), s.TurnY(s.Deg(90*side))))
	}
	plate := foot.Then(s.Shift(0, -84, 0), s.TurnX(s.Deg(-90)))
	m.Join(s.Block(110, 124, 10, 6, 2), plate)
	for _, x := range []float64{-43, 43} {
		for _, y := range []float64{-48, 0, 48} {
			m.Join(s.HexBolt(6, 6), plate.Then(s.Shift(x, y, 10)))
		}
	}
}
