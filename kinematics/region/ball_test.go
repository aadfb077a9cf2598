package region

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/kinematics"
	"pintle/kinematics/contact"
)

// sided is how far a point leans in a funnel with n sides: the plane of a side
// through the apex makes tan t cos(azimuth from its middle) = tan a cos(pi/n).
func sided(half float64, n int, azimuth float64) float64 {
	step := 2 * math.Pi / float64(n)
	from := math.Mod(azimuth, step)
	if from < 0 {
		from += step
	}
	return math.Atan(math.Tan(half) * math.Cos(step/2) / math.Cos(from-step/2))
}

// pyramid is the solid angle of such a funnel: 2 pi - 2 n asin(sin(pi/n) /
// sqrt(1 + T^2)) with T = tan a cos(pi/n), by integrating 1 - cos t.
func pyramid(half float64, n int) float64 {
	w := math.Pi / float64(n)
	t := math.Tan(half) * math.Cos(w)
	return 2*math.Pi - 2*float64(n)*math.Asin(math.Sin(w)/math.Sqrt(1+t*t))
}

func TestBallInAFunnel(t *testing.T) {
	for _, n := range []int{4, 6, 7} {
		for _, half := range []float64{10 * degree, 30 * degree, 60 * degree} {
			b := ball(t, input(t, needle(), funnel(half, n), plain()), Options{Error: 0.05 * degree, Tolerance: -1})
			for _, r := range b.Rim {
				if want := sided(half, n, r.Azimuth); math.Abs(r.Lean-want) > 1e-6 {
					t.Errorf("%d sides, azimuth %g: lean %.9g, want %.9g", n, r.Azimuth, r.Lean, want)
				}
				if r.Event == nil || r3.Norm(r3.Sub(r.Event.Point, r3.Scale(10, b.Pointing(r.Azimuth, r.Lean)))) > 0.02 {
					t.Errorf("azimuth %g: event %+v", r.Azimuth, r.Event)
				}
			}
			if got, want := b.SolidAngle(), pyramid(half, n); math.Abs(got-want) > 2e-3*want {
				t.Errorf("%d sides of %g: solid angle %.6g, want %.6g", n, half, got, want)
			}
			for a := -4.0; a < 4; a += 0.37 {
				if want := sided(half, n, a); math.Abs(b.At(a)-want) > 0.1*degree {
					t.Errorf("azimuth %g: interpolated %.6g, want %.6g", a, b.At(a), want)
				}
			}
		}
	}
}

// Solid angles of round cones: 2 pi (1 - cos a), closed form.
func TestSolidAngleOfCones(t *testing.T) {
	for half, want := range map[float64]float64{
		10: 0.0954557030567377, 30: 0.841787214476933, 45: 1.84030236902122, 60: 3.14159265358979,
		90: 6.28318530717959, 120: 9.42477796076938, 180: 12.5663706143592,
	} {
		b := Ball{Frame: plain()}
		for k := range 7 {
			b.Rim = append(b.Rim, Rim{Azimuth: -3 + 0.8*float64(k), Lean: half * degree})
		}
		if got := b.SolidAngle(); math.Abs(got-want) > 1e-12 {
			t.Errorf("%g degrees: %.15g, want %.15g", half, got, want)
		}
		c, err := b.Cone(12)
		if err != nil || math.Abs(c.SolidAngle()-want) > 1e-12 {
			t.Errorf("%g degrees: cone of %.15g, want %.15g (%v)", half, c.SolidAngle(), want, err)
		}
		if half == 60 || half == 10 {
			b := ball(t, input(t, needle(), funnel(half*degree, 180), plain()), Options{Error: 0.1 * degree, Tolerance: -1})
			if got := b.SolidAngle(); math.Abs(got-want) > 1e-3*want {
				t.Errorf("measured %g degrees: %.9g, want %.9g", half, got, want)
			}
		}
	}
}

// Nothing in the way: the whole sphere.
func TestFreeBall(t *testing.T) {
	b := ball(t, input(t, needle(), box(50, 51, 50, 51, 50, 51), plain()), Options{})
	if math.Abs(b.SolidAngle()-4*math.Pi) > 1e-12 || b.Off != 0 || len(b.Rim) != 48 {
		t.Errorf("solid angle %g, off %g, %d azimuths", b.SolidAngle(), b.Off, len(b.Rim))
	}
	b = ball(t, input(t, needle(), box(50, 51, 50, 51, 50, 51), plain()), Options{Lean: 1})
	if math.Abs(b.SolidAngle()-2*math.Pi*(1-math.Cos(1))) > 1e-12 {
		t.Errorf("solid angle %g of leans up to 1", b.SolidAngle())
	}
}

// The stud touches at every limit and nowhere on the way, by the motion of the
// joint kind and the distance of meshes.
func TestBallAgainstDistances(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 8))
	for range 4 {
		moving, still := rubble(t, r)
		b := ball(t, input(t, moving, still, plain()), Options{})
		for i := 0; i < len(b.Rim); i += 5 {
			rim := &b.Rim[i]
			at := func(lean float64) float64 {
				h, s := kinematics.SwingOf(rim.Azimuth, lean)
				return gap(t, moving, still, posed(kinematics.Spherical, plain(), h, s, 0))
			}
			if d := at(rim.Lean); rim.Event != nil && d > 1e-9 {
				t.Errorf("%g apart at the limit %g", d, rim.Lean)
			}
			for k := range 20 {
				if at(rim.Lean*float64(k)/20) <= 0 {
					t.Errorf("parts meet before the limit %g at %g", rim.Lean, rim.Azimuth)
				}
			}
		}
	}
}

// Anywhere between the azimuths nothing meets up to what is certified, and
// certifying comes near the limit where the rim is even.
func TestCertifiedLeans(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 8))
	share, count := 0.0, 0
	for range 3 {
		moving, still := rubble(t, r)
		b := ball(t, input(t, moving, still, plain()), Options{Certify: true})
		for i, rim := range b.Rim {
			if rim.Sure > rim.Lean {
				t.Errorf("sure of %g, limit %g", rim.Sure, rim.Lean)
			}
			share += rim.Sure / rim.Lean
			count++
			next := b.Rim[(i+1)%len(b.Rim)].Azimuth
			beside := from(rim.Azimuth, next) / 2 * r.Float64()
			h, s := kinematics.SwingOf(rim.Azimuth+beside, rim.Sure*r.Float64())
			if gap(t, moving, still, posed(kinematics.Spherical, plain(), h, s, 0)) <= 0 {
				t.Errorf("parts meet at %g beside %g, sure of %g", beside, rim.Azimuth, rim.Sure)
			}
		}
	}
	if share/float64(count) < 0.5 {
		t.Errorf("certified %g of the limits on average", share/float64(count))
	}
}

func TestBallWhateverTheFrame(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 8))
		moving, still := rubble(t, r)
		o := Options{First: 8, Most: 8}
		a := ball(t, input(t, moving, still, plain()), o)
		x := kinematics.Rotation(kinematics.Axis{Point: r3.Scale(9, randomUnit(r)), Dir: randomUnit(r)}, 3)
		scale := math.Pow(10, rapid.Float64Range(-3, 3).Draw(rt, "scale"))
		move := func(p r3.Vec) r3.Vec { return r3.Scale(scale, x.Apply(p)) }
		f := x.Frame(plain())
		f.Origin = r3.Scale(scale, f.Origin)
		b := ball(t, input(t, moving.moved(move), still.moved(move), f), o)
		for i := range a.Rim {
			if math.Abs(a.Rim[i].Lean-b.Rim[i].Lean) > 1e-8 {
				rt.Fatalf("azimuth %g: %g moved, %g", a.Rim[i].Azimuth, b.Rim[i].Lean, a.Rim[i].Lean)
			}
		}
	})
}

// A cone never reaches past the rim.
func TestConeKeepsInside(t *testing.T) {
	b := ball(t, input(t, needle(), funnel(40*degree, 5), plain()), Options{Tolerance: -1})
	for _, n := range []int{1, 2, 12, 72} {
		c, err := b.Cone(n)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range b.Rim {
			if c.At(r.Azimuth) > r.Lean+1e-9 {
				t.Errorf("cone of %d: %g at %g, limit %g", n, c.At(r.Azimuth), r.Azimuth, r.Lean)
			}
		}
	}
	for _, n := range []int{-1, 0, 3601, 1 << 50} {
		if _, err := b.Cone(n); err == nil {
			t.Errorf("a cone of %d angles", n)
		}
	}
}

func TestSurface(t *testing.T) {
	b := ball(t, input(t, needle(), funnel(50*degree, 6), plain()), Options{Tolerance: -1})
	m, err := b.Surface(3)
	if err != nil {
		t.Fatal(err)
	}
	// A part of a ball: a third of the radius times its share of the sphere.
	if want := b.SolidAngle() * 9; !m.IsClosed() || math.Abs(m.Volume()-want) > 0.01*want {
		t.Errorf("volume %g, want %g; closed %v", m.Volume(), want, m.IsClosed())
	}
	free := ball(t, input(t, needle(), box(50, 51, 50, 51, 50, 51), plain()), Options{})
	if m, err = free.Surface(2); err != nil || !m.IsClosed() || math.Abs(m.Volume()-32*math.Pi/3) > 0.3 {
		t.Errorf("sphere of volume %g, closed %v (%v)", m.Volume(), m.IsClosed(), err)
	}
	for _, r := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := b.Surface(r); err == nil || !strings.Contains(err.Error(), "positive length") {
			t.Errorf("radius %g: error %v", r, err)
		}
	}
}

func TestBadBalls(t *testing.T) {
	in := input(t, needle(), funnel(1, 6), plain())
	skew, empty := in, in
	skew.Frame.Hinge = r3.Vec{Z: 1}
	empty.Still = nil
	for _, c := range []struct {
		in   Input
		o    Options
		says string
	}{
		{skew, Options{}, "the joint's frame"},
		{empty, Options{}, "the still side has no triangles"},
		{in, Options{Error: -1}, "option -1"},
		{in, Options{Lean: math.NaN()}, "option NaN"},
		{in, Options{First: -3}, "option -3"},
		{in, Options{First: math.MaxInt}, "give at most 3600"},
		{in, Options{Tolerance: math.Inf(1)}, "tolerance +Inf"},
	} {
		if _, err := FindBall(t.Context(), c.in, c.o); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("error %v, want one that says %q", err, c.says)
		}
		if _, err := FindUniversal(t.Context(), c.in, c.o); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("universal: error %v, want one that says %q", err, c.says)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := FindBall(ctx, in, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want canceled", err)
	}
	var e *contact.EmptyError
	if _, err := FindBall(t.Context(), empty, Options{}); !errors.As(err, &e) || strings.Contains(err.Error(), "\n") {
		t.Errorf("error %v, want one EmptyError", err)
	}
}

func TestSameRegionOnAnyNumberOfCores(t *testing.T) {
	moving, still := rubble(t, rand.New(rand.NewPCG(4, 8)))
	var first *Ball
	for _, procs := range []int{1, 2, 1, 2} {
		old := runtime.GOMAXPROCS(procs)
		b := ball(t, input(t, moving, still, plain()), Options{Certify: true})
		runtime.GOMAXPROCS(old)
		if first == nil {
			first = b
		}
		if !reflect.DeepEqual(first, b) {
			t.Errorf("%d processors: another region", procs)
		}
	}
}

func BenchmarkBall(b *testing.B) {
	moving, still := rubble(b, rand.New(rand.NewPCG(5, 8)))
	in := input(b, moving, still, plain())
	for _, certify := range []bool{false, true} {
		b.Run(map[bool]string{false: "plain", true: "certified"}[certify], func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				ball(b, in, Options{Certify: certify})
			}
		})
	}
}
