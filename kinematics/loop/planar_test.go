package loop

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func genFourBar(t *rapid.T) FourBar {
	link := rapid.Float64Range(0.2, 2)
	size := math.Pow(10, rapid.Float64Range(-3, 5).Draw(t, "size"))
	return FourBar{size * link.Draw(t, "a"), size * link.Draw(t, "b"), size * link.Draw(t, "c"), size * link.Draw(t, "d")}
}

// The pins are as far apart as the links are long, on both circuits, which
// mirror each other about the line from A to the rocker's ground pin; and the
// angles meet Freudenstein's equation.
func TestFourBarKeepsItsLengths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := genFourBar(t)
		crank := rapid.Float64Range(-7, 7).Draw(t, "crank")
		dist := func(p, q [2]float64) float64 { return math.Hypot(p[0]-q[0], p[1]-q[1]) }
		ax, ay := f.Crank*math.Cos(crank), f.Crank*math.Sin(crank)
		d := math.Hypot(f.Ground-ax, ay)
		reached := d <= f.Coupler+f.Rocker && d >= math.Abs(f.Coupler-f.Rocker)
		slack := math.Min(math.Abs(d-f.Coupler-f.Rocker), math.Abs(d-math.Abs(f.Coupler-f.Rocker)))
		var poses [2]Bars
		for c := range poses {
			s, ok := f.At(crank, Circuit(c))
			if ok != reached && slack > 1e-12*f.Ground {
				t.Fatalf("reached: %v, by the triangle %v", ok, reached)
			}
			if !ok {
				return
			}
			poses[c] = s
			size := f.Crank + f.Coupler + f.Rocker + f.Ground
			near(t, "crank", dist(s.A, [2]float64{}), f.Crank, 1e-13*size)
			near(t, "coupler", dist(s.A, s.B), f.Coupler, 1e-9*size)
			near(t, "rocker", dist(s.B, [2]float64{f.Ground, 0}), f.Rocker, 1e-9*size)
			near(t, "coupler's angle", s.Coupler, math.Atan2(s.B[1]-s.A[1], s.B[0]-s.A[0]), 1e-12)
			k1, k2 := f.Ground/f.Crank, f.Ground/f.Rocker
			k3 := (f.Crank*f.Crank - f.Coupler*f.Coupler + f.Rocker*f.Rocker + f.Ground*f.Ground) / (2 * f.Crank * f.Rocker)
			open := k1*math.Cos(s.Rocker) - k2*math.Cos(crank) + k3 - math.Cos(crank-s.Rocker)
			near(t, "Freudenstein's equation", open, 0, 1e-9*(1+k1+k2+math.Abs(k3)))
			near(t, "transmission", math.Abs(math.Sin(s.Coupler-s.Rocker)), math.Sin(s.Transmission), 1e-9)
		}
		// Open and crossed are mirror images about the diagonal.
		across := [2]float64{-(0 - ay), f.Ground - ax}
		mx, my := poses[0].B[0]-poses[1].B[0], poses[0].B[1]-poses[1].B[1]
		size := f.Crank + f.Coupler + f.Rocker + f.Ground
		near(t, "mirrored", mx*(f.Ground-ax)+my*(0-ay), 0, 1e-9*size*size)
		if d := mx*across[0] + my*across[1]; d < -1e-9*size*size {
			t.Errorf("the open circuit lies on the other side by %v", d)
		}
	})
}

// Oracle for Grashof: every angle of crank and rocker is tried.
func TestGrashofByTryingAllAngles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := genFourBar(t)
		class := f.Class(1e-3) // not close to a change point, where trying decides by chance
		if class == ChangePoint || class == Parallelogram {
			return
		}
		turns := func(f FourBar) (all, any bool) {
			all = true
			for i := range 720 {
				_, ok := f.At(2*math.Pi*float64(i)/720, Open)
				all, any = all && ok, any || ok
			}
			return all, any
		}
		crank, closes := turns(f)
		rocker, _ := turns(FourBar{f.Rocker, f.Coupler, f.Crank, f.Ground})
		// The coupler turns fully where it does as crank of the linkage stood on it.
		coupler, _ := turns(FourBar{f.Coupler, f.Rocker, f.Ground, f.Crank})
		want := Impossible
		switch {
		case !closes:
		case crank && rocker:
			want = DoubleCrank
		case crank:
			want = CrankRocker
		case rocker:
			want = RockerCrank
		case coupler:
			want = DoubleRocker
		default:
			want = TripleRocker
		}
		if class != want {
			t.Errorf("%+v is a %s, trying says %s", f, class, want)
		}
	})
}

// The rod keeps its length, the slider its line; the stroke's ends are the
// farthest and nearest that any angle brings.
func TestSliderCrankKeepsItsLengths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(0.1, 2)
		s := SliderCrank{Crank: x.Draw(t, "crank"), Rod: x.Draw(t, "rod"), Offset: rapid.Float64Range(-1, 1).Draw(t, "offset")}
		outer, inner, full := s.Stroke()
		if want := s.Rod > s.Crank+math.Abs(s.Offset); full != want {
			t.Errorf("turns fully: %v, want %v", full, want)
		}
		most, least, all := math.Inf(-1), math.Inf(1), true
		for i := range 3600 {
			turn := 2 * math.Pi * float64(i) / 3600
			for _, c := range []Circuit{Open, Crossed} {
				at, ok := s.At(turn, c)
				if !ok {
					all = false
					continue
				}
				rod := math.Hypot(at-s.Crank*math.Cos(turn), s.Offset-s.Crank*math.Sin(turn))
				near(t, "rod", rod, s.Rod, 1e-12)
				if c == Open {
					most, least = max(most, at), min(least, at)
				}
			}
		}
		if !full {
			return
		}
		if !all {
			t.Error("some angle is not reached")
		}
		near(t, "outer end", most, outer, 1e-5)
		near(t, "inner end", least, inner, 1e-4)
		if most > outer+1e-12 || least < inner-1e-12 {
			t.Errorf("the slider goes from %v to %v, beyond %v and %v", least, most, inner, outer)
		}
	})
}

func TestBadFourBars(t *testing.T) {
	for _, f := range []FourBar{{}, {1, 1, 1, 0}, {-1, 1, 1, 1}, {1, math.NaN(), 1, 1}, {1, 1, math.Inf(1), 1}} {
		if err := f.Check(); err == nil {
			t.Errorf("%+v is taken", f)
		}
		if s, ok := f.At(0.3, Open); ok && (math.IsNaN(s.B[0]) || math.IsNaN(s.Rocker)) {
			t.Errorf("%+v stands at %+v", f, s)
		}
	}
	if err := (FourBar{1, 2, 2, 2}).Check(); err != nil {
		t.Error(err)
	}
	// Crank and ground alike, the crank folded back on the ground: A lies on the
	// rocker's pin and B anywhere round it.
	if _, ok := (FourBar{2, 1, 1, 2}).At(0, Open); ok {
		t.Error("a pose that is not determined is given")
	}
}
