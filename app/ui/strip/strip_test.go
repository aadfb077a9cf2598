package strip

import (
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"
	"pgregory.net/rapid"

	"pintle/app/ui/style"
)

func TestNiceStep(t *testing.T) {
	for _, c := range []struct {
		length float64
		n      int
		angles bool
		want   float64
	}{
		{180, 12, true, 15},
		{360, 12, true, 30},
		{8, 10, true, 1},
		{2000, 4, true, 360},
		{1, 10, false, 0.1},
		{0.3, 10, false, 0.05},
		{7, 5, false, 2},
		{math.NaN(), 3, true, 1},
		{-1, 3, false, 1},
	} {
		if got := niceStep(c.length, c.n, c.angles); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("niceStep(%v, %d, %v) = %v, want %v", c.length, c.n, c.angles, got, c.want)
		}
	}
}

func TestNiceStepDividesIntoAtMostN(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := rapid.Float64Range(1e-6, 1e6).Draw(t, "length")
		n := rapid.IntRange(1, 40).Draw(t, "n")
		if s := niceStep(length, n, false); length/s > float64(n)*(1+1e-9) {
			t.Fatalf("step %v cuts %v into %v pieces, more than %d", s, length, length/s, n)
		}
	})
}

func TestAroundHoldsItsRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-360, 360).Draw(t, "lo")
		hi := lo + rapid.Float64Range(0, 720).Draw(t, "length")
		a, b := around(lo, hi, true)
		if a > lo || b < hi {
			t.Fatalf("around(%v, %v) = %v, %v", lo, hi, a, b)
		}
	})
}

func TestSpanThereAndBack(t *testing.T) {
	s := span{lo: -31.27, hi: 118.64, left: 34, width: 700}
	for _, v := range []float64{-31.27, 0, 42, 118.64} {
		if got := s.value(s.x(v)); math.Abs(got-v) > 1e-4 {
			t.Errorf("value(x(%v)) = %v", v, got)
		}
	}
	if got := s.value(-1e6); got != s.lo {
		t.Errorf("left of the ruler is %v, want %v", got, s.lo)
	}
}

func TestFiguresKeepThreeDigits(t *testing.T) {
	for v, want := range map[float64]string{4.3149: "4.31", 0.0061234: "0.00612", 123.4: "123", 0: "0", 1e-9: "0.000000"} {
		if got := threeDigits(v); got != want {
			t.Errorf("threeDigits(%v) = %q, want %q", v, got, want)
		}
	}
}

func rulerInWindow(t *testing.T, on func(float64)) *Ruler {
	t.Helper()
	a := test.NewTempApp(t)
	a.Settings().SetTheme(style.New(false))
	r := NewRuler(on)
	w := test.NewTempWindow(t, r)
	w.Resize(fyne.NewSize(800, 160))
	lo, hi := -30.0, 120.0
	r.SetData(Data{Lower: &lo, Upper: &hi, Curve: Curve{Name: "clearance", Unit: "mm", At: []float64{-30, 45, 120}, Value: []float64{0, 4, 0}}})
	return r
}

func TestDraggingMovesTheCursor(t *testing.T) {
	var got []float64
	r := rulerInWindow(t, func(v float64) { got = append(got, v) })
	sp := r.span()
	r.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(sp.x(60), 40)}})
	if len(got) != 1 || math.Abs(got[0]-60) > 0.2 {
		t.Fatalf("a press at 60 degrees gave %v", got)
	}
	r.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(sp.x(90), 40)}})
	if math.Abs(r.Value()-90) > 0.2 {
		t.Fatalf("dragging to 90 degrees gave %v", r.Value())
	}
}

func TestKeysMoveTheCursor(t *testing.T) {
	r := rulerInWindow(t, nil)
	for _, c := range []struct {
		key  fyne.KeyName
		want float64
	}{{fyne.KeyRight, 1}, {fyne.KeyPageUp, 11}, {fyne.KeyLeft, 10}, {fyne.KeyEnd, 120}, {fyne.KeyHome, -30}} {
		r.TypedKey(&fyne.KeyEvent{Name: c.key})
		if r.Value() != c.want {
			t.Errorf("after %s the cursor is at %v, want %v", c.key, r.Value(), c.want)
		}
	}
}

func TestCurveInterpolatesAndLeavesGaps(t *testing.T) {
	c := Curve{At: []float64{0, 10, 20}, Value: []float64{0, 5, math.NaN()}}
	if got := c.at(4); got != 2 {
		t.Errorf("at(4) = %v, want 2", got)
	}
	if got := c.at(15); !math.IsNaN(got) {
		t.Errorf("at(15) = %v, want a gap", got)
	}
	if got := c.at(-1); !math.IsNaN(got) {
		t.Errorf("at(-1) = %v, want NaN outside", got)
	}
}

func TestEmptyRulerDraws(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(style.New(true))
	r := NewRuler(nil)
	w := test.NewTempWindow(t, r)
	w.Resize(fyne.NewSize(10, 10))
	r.SetData(Data{Slider: true, Unit: "mm"})
	if n := len(test.WidgetRenderer(r).Objects()); n == 0 {
		t.Error("nothing drawn")
	}
}

// A slide that nothing stops has a ruler as long as what slides.
func TestRulerOfAFreeSlideReachesFar(t *testing.T) {
	r := NewRuler(nil)
	r.SetData(Data{Slider: true, Unit: "mm", Far: 250})
	if lo, hi := r.ends(); lo > -250 || hi < 250 || hi > 400 {
		t.Errorf("the ruler reaches from %v to %v", lo, hi)
	}
	stop := 30.0
	r.SetData(Data{Slider: true, Unit: "mm", Far: 250, Upper: &stop})
	if lo, hi := r.ends(); lo > -250 || hi < 30 || hi > 100 {
		t.Errorf("with a stop at 30 it reaches from %v to %v", lo, hi)
	}
}

// Of thousands of samples only what is to be seen becomes a line, and the least
// value is marked.
func TestCurveOfManySamplesDrawsFewLines(t *testing.T) {
	c := Curve{Name: "clearance", Unit: "mm", Least: &[2]float64{20, 1}}
	for i := range 4000 {
		at := -30 + 150*float64(i)/3999
		c.At, c.Value = append(c.At, at), append(c.Value, 1+math.Abs(at-20))
	}
	if !c.matters(0) || !c.matters(3999) || c.matters(100) {
		t.Error("ends matter, what is straight does not")
	}
	test.NewTempApp(t).Settings().SetTheme(style.New(false))
	r := NewRuler(nil)
	w := test.NewTempWindow(t, r)
	w.Resize(fyne.NewSize(900, 140))
	r.SetData(Data{})
	bare := len(test.WidgetRenderer(r).Objects())
	lo, hi := -30.0, 120.0
	r.SetData(Data{Lower: &lo, Upper: &hi, Curve: c})
	if n := len(test.WidgetRenderer(r).Objects()) - bare; n < 100 || n > 700 {
		t.Errorf("%d objects for the curve", n)
	}
	marked := false
	for _, o := range test.WidgetRenderer(r).Objects() {
		if text, ok := o.(*canvas.Text); ok && text.Text == "1.00" {
			marked = true
		}
	}
	if !marked {
		t.Error("the least value is not marked")
	}
}

// The cursor tells what was measured where it stands, elsewhere what the curve
// says.
func TestCursorTellsWhatWasMeasured(t *testing.T) {
	c := Curve{At: []float64{0, 10}, Value: []float64{0, 5}, Here: &[2]float64{4, 2.5}}
	if c.told(4) != 2.5 || c.told(6) != 3 {
		t.Errorf("told %v and %v, want 2.5 and 3", c.told(4), c.told(6))
	}
}

func TestRulerOfATrialKeepsItsScale(t *testing.T) {
	r := rulerInWindow(t, nil)
	lower, upper := -0.4, 0.8
	for _, d := range []Data{
		{Searched: &[2]float64{-15, 15}},
		{Searched: &[2]float64{-15, 15}, Lower: &lower},
		{Searched: &[2]float64{-15, 15}, Lower: &lower, Upper: &upper},
	} {
		r.SetData(d)
		for _, v := range []float64{0, 20, -20} {
			r.SetValue(v)
			if lo, hi := r.ends(); lo != -30 || hi != 30 {
				t.Errorf("at %v the ruler goes from %v to %v", v, lo, hi)
			}
		}
	}
}
