package region

import (
	"math"
	"math/rand/v2"
	"testing"

	"pintle/kinematics"
)

func universal(t testing.TB, in Input, o Options) *Universal {
	t.Helper()
	u, err := FindUniversal(t.Context(), in, o)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

// Constant limits in closed form: elevation -30 to 60 degrees over 90 degrees of
// azimuth is 2.14574768657311 sr; everything is the sphere.
func TestSolidAngleOfForks(t *testing.T) {
	for _, c := range []struct {
		over, side kinematics.Range
		want       float64
	}{
		{kinematics.Range{Lower: -20, Upper: 70}, kinematics.Range{Lower: -30, Upper: 60}, 2.14574768657311},
		{kinematics.Range{Lower: -180, Upper: 180}, kinematics.Range{Lower: -90, Upper: 90}, 4 * math.Pi},
		{kinematics.Range{Lower: -180, Upper: 180}, kinematics.Range{Lower: -180, Upper: 180}, 4 * math.Pi},
		{kinematics.Range{Lower: 0, Upper: 90}, kinematics.Range{Lower: 0, Upper: 90}, math.Pi / 2},
	} {
		u := Universal{}
		for k := range 4 {
			s := float64(k*k) / 9
			side := kinematics.Range{Lower: c.side.Lower * degree, Upper: c.side.Upper * degree}
			u.Forks = append(u.Forks, Fork{About: (c.over.Lower*(1-s) + c.over.Upper*s) * degree, Side: side})
		}
		if got := u.SolidAngle(); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v by %v: %.15g, want %.15g", c.over, c.side, got, c.want)
		}
	}
}

// A universal joint points where a ball does: in a funnel about the reach both
// have the same solid angle, since from everywhere the way about the hinge and
// then about the side stays inside.
func TestUniversalInAFunnel(t *testing.T) {
	u := universal(t, input(t, needle(), funnel(40*degree, 8), plain()), Options{Error: 0.1 * degree, Tolerance: -1})
	if got, want := u.SolidAngle(), pyramid(40*degree, 8); math.Abs(got-want) > 0.01*want {
		t.Errorf("solid angle %g, want %g", got, want)
	}
	if want := sided(40*degree, 8, 0); u.Upper == nil || math.Abs(u.Upper.Value-want) > 1e-6 || math.Abs(u.Lower.Value+want) > 1e-6 {
		t.Errorf("about the hinge %+v to %+v, want %g either way", u.Lower, u.Upper, want)
	}
	mid := u.At(0)
	if want := sided(40*degree, 8, math.Pi/2); math.Abs(mid.Upper-want) > 1e-6 || math.Abs(mid.Lower+want) > 1e-6 {
		t.Errorf("about the side %v, want %g either way", mid, want)
	}
	if u.At(-9) != u.Forks[0].Side || u.At(9) != u.Forks[len(u.Forks)-1].Side {
		t.Error("limits beyond the forks")
	}
}

// The parts touch at the limits of every fork and nowhere between, by the motion
// of the joint kind.
func TestUniversalAgainstDistances(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for range 3 {
		moving, still := rubble(t, r)
		u := universal(t, input(t, moving, still, plain()), Options{First: 10, Most: 30})
		for i := 1; i < len(u.Forks)-1; i += 2 {
			f := &u.Forks[i]
			at := func(v float64) float64 {
				return gap(t, moving, still, posed(kinematics.Universal, plain(), f.About, v))
			}
			for _, e := range []struct {
				v   float64
				hit bool
			}{{f.Side.Lower, f.Lower != nil}, {f.Side.Upper, f.Upper != nil}} {
				if d := at(e.v); e.hit && d > 1e-9 {
					t.Errorf("%g apart at the limit %g", d, e.v)
				}
				for k := range 15 {
					if at(e.v*float64(k)/15) <= 0 {
						t.Errorf("parts meet before the limit %g at %g", e.v, f.About)
					}
				}
			}
		}
	}
}
