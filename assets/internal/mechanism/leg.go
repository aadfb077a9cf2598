package mechanism

import (
	"math"

	s "pintle/assets/internal/solid"
)

// Names of the leg's parts.
const (
	hip   = "hip"
	thigh = "thigh"
	shank = "shank"
	foot  = "foot"
)

// The leg's pose.
var (
	hipSwing  = s.Deg(43)
	kneeBend  = s.Deg(-81)
	ankleBend = s.Deg(49)
)

// How far the knee's housing is off its own hinge.
const (
	kneeOff     = 0.8 // mm, sideways from hinge to housing in its middle
	kneeTilt    = 1.5 // degrees between hinge and housing
	kneeOffAt   = 128.0
	kneeTiltAt  = 40.0
	housingR    = 37.0
	housingHalf = 20.0
)

// Sizes that mate.
const (
	hipPinR    = 15.0
	plateIn    = 24.0 // inner faces of the thigh's plates
	plateThick = 8.0
	kneePinR   = 11.0
	anklePinR  = 8.0
	ankleHalf  = 14.0
)

type legFrames struct{ hip, thigh, knee, shank, housing, ankle, foot s.Frame }

func newLegFrames() legFrames {
	var f legFrames
	f.hip = s.World().Then(s.TurnZ(s.Deg(-22)), s.Shift(0, 0, 468), s.TurnY(s.Deg(7)), s.TurnX(s.Deg(-4)))
	f.thigh = f.hip.Then(s.TurnX(hipSwing))
	f.knee = f.thigh.Then(s.Shift(0, 6, -205))
	f.shank = f.knee.Then(s.TurnX(kneeBend))
	off, tilt := s.Deg(kneeOffAt), s.Deg(kneeTiltAt)
	f.housing = f.shank.Then(
		s.Shift(0, kneeOff*math.Cos(off), kneeOff*math.Sin(off)),
		s.TurnX(tilt), s.TurnY(s.Deg(kneeTilt)), s.TurnX(-tilt))
	f.ankle = f.shank.Then(s.Shift(-2, 4, -236), s.TurnZ(s.Deg(-6)), s.TurnY(s.Deg(3)))
	f.foot = f.ankle.Then(s.TurnX(ankleBend))
	return f
}

// HeronLeg returns a walking leg whose knee housing does not run true: it is
// askew to the hinge it turns on.
func HeronLeg() Mechanism {
	f := newLegFrames()
	m := Mechanism{
		Name: "heron-leg", Title: "walking leg whose knee housing is off its hinge",
		Notes: []string{"The knee's housing is 0.8 mm off and 1.5 degrees askew to the hinge it turns on; pin, bore and thrust faces are true to the hinge."},
	}
	buildHip(m.part(hip), f.hip)
	buildThigh(m.part(thigh), f)
	buildKneeFork(m.part(thigh), f)
	buildShank(m.part(shank), f)
	buildShankTube(m.part(shank), f)
	buildFoot(m.part(foot), f.foot)
	hinge := func(name, parent, child string, at s.Frame, lower, upper, value float64) Joint {
		return Joint{
			Name: name, Kind: "revolute", Parent: parent, Child: child, Origin: at.O, Axis: at.X,
			Lower: s.Deg(lower), Upper: s.Deg(upper), Value: value,
		}
	}
	m.Joints = []Joint{
		hinge("hip", hip, thigh, f.thigh, -30, 75, hipSwing),
		hinge("knee", thigh, shank, f.knee, -120, -5, kneeBend),
		hinge("ankle", shank, foot, f.ankle, -20, 80, ankleBend),
	}
	m.Joints[1].Housing = &Housing{
		Part: shank, Origin: f.housing.O, Axis: f.housing.X, Zero: f.housing.Y,
		Radius: housingR, HalfWidth: housingHalf,
	}
	return m
}
