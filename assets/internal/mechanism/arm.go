package mechanism

import (
	"math"

	s "pintle/assets/internal/solid"
)

// Names of the arm's parts.
const (
	pedestal  = "pedestal"
	turntable = "turntable"
	upperLink = "upper link"
	forearm   = "forearm"
	wrist     = "wrist"
	palm      = "palm"
)

// The arm's pose: joint values counted from neutral.
var (
	armTurn   = s.Deg(-38)
	armLean   = s.Deg(31)
	armBend   = s.Deg(30)
	armWrist  = s.Deg(-34)
	armRoll   = s.Deg(49)
	elbowLow  = s.Deg(-31.27) // where the elbow stops, from the modelled pose
	elbowHigh = s.Deg(118.64)
)

// armFrames holds the arm's joint frames as posed, in world axes: origins on
// the hinges. The column and the roll turn about Z of their frames, the others
// about X.
type armFrames struct {
	foot, column, table     s.Frame
	upper, elbow, fore      s.Frame // elbow: fixed to the upper link
	wristPin, wrist, palm   s.Frame // wristPin: fixed to the forearm
	fingerPins, fingerMoved [3]s.Frame
}

// fingerSpec is one finger of the claw: where it stands round the palm, how
// its hinge is skewed and how far it is open.
type fingerSpec struct{ around, skew, tip, open float64 }

func fingerSpecs() [3]fingerSpec {
	return [3]fingerSpec{
		{s.Deg(0), s.Deg(7), s.Deg(0), s.Deg(27)},
		{s.Deg(113), s.Deg(-11), s.Deg(4), s.Deg(36)},
		{s.Deg(246), s.Deg(4), s.Deg(-6), s.Deg(18)},
	}
}

// Heights and places of the joints in the frames below them.
const (
	columnTop  = 112.0
	shoulderUp = 232.0
	palmUp     = 62.0
)

func newArmFrames() armFrames {
	var f armFrames
	f.foot = s.World().Then(s.TurnZ(s.Deg(24)))
	f.column = f.foot.Then(s.Shift(0, 0, 24), s.TurnX(s.Deg(-6)), s.TurnY(s.Deg(5)))
	f.table = f.column.Then(s.TurnZ(armTurn))
	f.upper = f.table.Then(s.Shift(0, -6, shoulderUp), s.TurnX(armLean))
	f.elbow = f.upper.Then(s.Shift(4, -32, 304), s.TurnZ(s.Deg(13)), s.TurnY(s.Deg(-9)))
	f.fore = f.elbow.Then(s.TurnX(armBend))
	f.wristPin = f.fore.Then(s.Shift(3, -3, 276), s.TurnZ(s.Deg(-71)), s.TurnY(s.Deg(5)))
	f.wrist = f.wristPin.Then(s.TurnX(armWrist))
	f.palm = f.wrist.Then(s.Shift(0, 0, palmUp), s.TurnZ(armRoll))
	for i, q := range fingerSpecs() {
		f.fingerPins[i] = f.palm.Then(s.TurnZ(q.around), s.Shift(44, 0, 56),
			s.TurnZ(s.Deg(90)+q.skew), s.TurnY(q.tip))
		f.fingerMoved[i] = f.fingerPins[i].Then(s.TurnX(q.open))
	}
	return f
}

// TernArm returns a five-joint arm with a three-finger claw. Its elbow is a
// clevis set askew on the upper link; the hub between the cheeks is not quite
// round.
func TernArm() Mechanism {
	f := newArmFrames()
	m := Mechanism{
		Name: "tern-arm", Title: "five-joint arm with a skewed elbow and a three-finger claw",
	}
	buildPedestal(m.part(pedestal), f)
	buildTurntable(m.part(turntable), f)
	buildUpperLink(m.part(upperLink), f)
	buildClevis(m.part(upperLink), f)
	buildForearm(m.part(forearm), f)
	buildForearmFork(m.part(forearm), f)
	buildWrist(m.part(wrist), f)
	buildPalm(m.part(palm), f)
	for i := range f.fingerPins {
		buildKnuckle(m.part(palm), f.fingerPins[i])
		buildFinger(m.part(fingerName(i)), f.fingerMoved[i])
	}
	m.Joints = armJoints(f)
	return m
}

func fingerName(i int) string { return [...]string{"finger 1", "finger 2", "finger 3"}[i] }

func armJoints(f armFrames) []Joint {
	hinge := func(name, parent, child string, o, a s.Vec, lower, upper, value float64) Joint {
		return Joint{
			Name: name, Kind: "revolute", Parent: parent, Child: child, Origin: o, Axis: a,
			Lower: s.Deg(lower), Upper: s.Deg(upper), Value: value,
		}
	}
	js := []Joint{
		hinge("column", pedestal, turntable, f.column.At(s.Vec{Z: columnTop}), f.column.Z, -170, 170, armTurn),
		hinge("shoulder", turntable, upperLink, f.upper.O, f.upper.X, -40, 75, armLean),
		hinge("elbow", upperLink, forearm, f.elbow.O, f.elbow.X, 0, 0, armBend),
		hinge("wrist bend", forearm, wrist, f.wristPin.O, f.wristPin.X, -95, 95, armWrist),
		hinge("wrist roll", wrist, palm, f.palm.O, f.palm.Z, -180, 180, armRoll),
	}
	elbow := &js[2]
	elbow.Lower, elbow.Upper = armBend+elbowLow, armBend+elbowHigh
	elbow.Stops, elbow.Housing = elbowStops(f), hubHousing(f)
	for i, q := range fingerSpecs() {
		js = append(js, hinge(fingerName(i), palm, fingerName(i),
			f.fingerPins[i].O, f.fingerPins[i].X, -10, 60, q.open))
	}
	return js
}

// Where the elbow's stops lie. In the clevis frame the stop pad is the plane
// y = padFace and the clevis floor the plane z = clevisFloor, both parallel to
// the hinge; an edge of the forearm, parallel to the hinge as well, meets each
// of them.
const (
	padFace     = -2.0
	padTouch    = -88.0 // height on the pad where the guard meets it
	clevisFloor = -60.0
	heelOut     = 50.0 // how far behind the hinge the heel's edge lies
)

// guardCorner returns the (y, z) of the guard's edge in the forearm's frame:
// the point of the pad it meets, turned back from the upper stop.
func guardCorner() s.P2 {
	sin, cos := math.Sincos(armBend + elbowHigh)
	return s.P2{X: padFace*cos + padTouch*sin, Y: -padFace*sin + padTouch*cos}
}

// heelCorner returns the (y, z) of the heel's edge in the forearm's frame: the
// z for which y sin t + z cos t reaches the floor at the lower stop.
func heelCorner() s.P2 {
	sin, cos := math.Sincos(armBend + elbowLow)
	return s.P2{X: heelOut, Y: (clevisFloor - heelOut*sin) / cos}
}

func elbowStops(f armFrames) *Stops {
	sin, cos := math.Sincos(armBend + elbowLow)
	h := heelCorner()
	return &Stops{
		Lower: elbowLow, LowerWhat: "heel of the forearm on the floor of the clevis",
		LowerPoint: f.elbow.At(s.Vec{Y: h.X*cos - h.Y*sin, Z: clevisFloor}),
		Upper:      elbowHigh, UpperWhat: "cable guard on the stop pad of the upper link",
		UpperPoint: f.elbow.At(s.Vec{Y: padFace, Z: padTouch}),
	}
}

// The hub of the elbow.
const (
	hubRadius = 44.0
	hubHalf   = 34.0
	hubPinR   = 18.0
)

func hubHarmonics() []Harmonic {
	return []Harmonic{
		{Order: 2, Amplitude: 0.21, Phase: s.Deg(25)},
		{Order: 3, Amplitude: 0.34, Phase: s.Deg(70), Twist: s.Deg(18)},
		{Order: 5, Amplitude: 0.08, Phase: s.Deg(10), Twist: s.Deg(-9)},
	}
}

// out returns the departure from the round radius at angle a and at distance
// x from the middle, as a share of the half width.
func out(hs []Harmonic, a, x float64) float64 {
	var d float64
	for _, h := range hs {
		d += h.Amplitude * math.Cos(float64(h.Order)*(a-h.Phase-h.Twist*x))
	}
	return d
}

func hubHousing(f armFrames) *Housing {
	return &Housing{
		Part: forearm, Origin: f.fore.O, Axis: f.fore.X, Zero: f.fore.Y,
		Radius: hubRadius, HalfWidth: hubHalf, Harmonics: hubHarmonics(),
	}
}
