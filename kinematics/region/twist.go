package region

import (
	"context"
	"fmt"
	"math"

	"pintle/kinematics"
	"pintle/kinematics/contact"
	"pintle/kinematics/internal/task"
)

// curveOptions are those of the clearance curves that certify.
func curveOptions(reach float64) contact.CurveOptions {
	return contact.CurveOptions{Error: 1e-3 * reach}
}

// Twist is how far a ball can twist about its reach where that leans.
type Twist struct {
	Azimuth, Lean float64
	Lower, Upper  *contact.Event // nil: nothing stops it within a full turn
}

// Range returns the twist limits, a full turn where nothing stops it.
func (t *Twist) Range() kinematics.Range {
	r := kinematics.Range{Lower: -2 * math.Pi, Upper: 2 * math.Pi}
	if t.Lower != nil {
		r.Lower = t.Lower.Value
	}
	if t.Upper != nil {
		r.Upper = t.Upper.Value
	}
	return r
}

// TwistAt returns how far a spherical joint can twist about its reach when that
// leans by polar to an azimuth. It returns an error as FindBall does.
func TwistAt(ctx context.Context, in Input, azimuth, polar float64, o Options) (Twist, error) {
	o, err := o.filled()
	if err != nil {
		return Twist{}, fmt.Errorf("twist limits: %w", err)
	}
	if err := in.check(); err != nil {
		return Twist{}, fmt.Errorf("twist limits: %w", err)
	}
	t, err := in.twist(ctx, azimuth, polar, o)
	if err != nil {
		return t, fmt.Errorf("twist limits: %w", err)
	}
	return t, nil
}

func (in *Input) twist(ctx context.Context, azimuth, polar float64, o Options) (Twist, error) {
	t := Twist{Azimuth: azimuth, Lean: polar}
	swing := kinematics.Rotation(in.leanAxis(azimuth), polar)
	s, err := in.turning(ctx, swing, in.about(swing.Turn(in.Frame.Reach)), o)
	if err != nil {
		return t, err
	}
	r, err := s.FreeRange(ctx, kinematics.Range{Lower: -2 * math.Pi, Upper: 2 * math.Pi})
	t.Lower, t.Upper = r.Lower, r.Upper
	return t, err
}

// Twists returns the twist limits as modelled and at leans to azimuths spread
// evenly, by rising azimuth and lean: at each of leans equal steps short of the
// ball's limit there. Parts touch at the limit itself.
func (b *Ball) Twists(ctx context.Context, in Input, azimuths, leans int, o Options) ([]Twist, error) {
	const most = 1 << 16
	o, err := o.filled()
	if err != nil {
		return nil, fmt.Errorf("twist limits: %w", err)
	}
	if err := in.check(); err != nil {
		return nil, fmt.Errorf("twist limits: %w", err)
	}
	if azimuths < 1 || leans < 1 || azimuths > most/leans {
		return nil, fmt.Errorf("twist limits at %d azimuths and %d leans: give 1 to %d in all", azimuths, leans, most)
	}
	list := make([]Twist, 1+azimuths*leans)
	err = task.InTwo(len(list), func(i int) error {
		azimuth, polar := 0.0, 0.0
		if i > 0 {
			azimuth = normal(2*math.Pi*float64((i-1)/leans)/float64(azimuths) - math.Pi)
			polar = b.At(azimuth) * float64((i-1)%leans+1) / float64(leans+1)
		}
		var err error
		list[i], err = in.twist(ctx, azimuth, polar, o)
		return err
	}, func(done int) { o.report(float64(done)/float64(len(list)), "twisting") })
	if err != nil {
		return nil, fmt.Errorf("twist limits: %w", err)
	}
	return list, nil
}
