package kinematics

import (
	"errors"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// The right-handed signed letterings are the rotation group of the cube: 24
// signed permutation matrices of determinant +1 (closed form).
func TestAllLettersAreTheCubeGroup(t *testing.T) {
	f := Frame{Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}
	seen := map[Transform]Letters{}
	for _, l := range AllLetters() {
		x, err := l.Pose(f)
		if err != nil {
			t.Fatalf("%s: %v", l, err)
		}
		if err := x.Check(0); err != nil {
			t.Errorf("%s: %v", l, err)
		}
		if d := mat.Det(dense(x)); d != 1 {
			t.Errorf("%s: determinant %v, want 1", l, d)
		}
		for _, r := range x.Rows() {
			for _, v := range r[:3] {
				if v != 0 && v != 1 && v != -1 {
					t.Errorf("%s: %v is no signed permutation", l, x.Rows())
				}
			}
		}
		if other, twice := seen[x]; twice {
			t.Errorf("%s and %s give the same frame", l, other)
		}
		seen[x] = l
	}
	if len(seen) != 24 {
		t.Errorf("%d distinct letterings, want 24", len(seen))
	}
	// The group is closed.
	for a := range seen {
		for b := range seen {
			if _, ok := seen[a.Mul(b)]; !ok {
				t.Fatalf("%s after %s is no lettering", seen[a], seen[b])
			}
		}
	}
}

func TestLettersPoseClosedForm(t *testing.T) {
	f := Frame{Origin: v3(7, 8, 9), Hinge: v3(0, 1, 0), Reach: v3(0, 0, 1)} // side = x
	for _, c := range []struct {
		letters Letters
		side    Letter
		x, y, z r3.Vec
	}{
		{DenavitHartenberg(), PlusY, f.Reach, f.Side(), f.Hinge},
		{Letters{PlusX, PlusY}, PlusZ, f.Hinge, f.Reach, f.Side()},
		{Letters{MinusY, PlusX}, PlusZ, f.Reach, r3.Scale(-1, f.Hinge), f.Side()},
		{Letters{PlusX, PlusZ}, MinusY, f.Hinge, r3.Scale(-1, f.Side()), f.Reach},
	} {
		if got := c.letters.Side(); got != c.side {
			t.Errorf("%s: side is %s, want %s", c.letters, got, c.side)
		}
		got, err := c.letters.Pose(f)
		if err != nil {
			t.Fatal(err)
		}
		nearRows(t, c.letters.String(), got, Transform{X: c.x, Y: c.y, Z: c.z, T: f.Origin}, 0)
	}
	x, err := DenavitHartenberg().Pose(f)
	if err != nil || x != f.Transform() {
		t.Errorf("Denavit-Hartenberg pose %v, %v, want the frame's own %v", x, err, f.Transform())
	}
}

func TestLettersRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.SampledFrom(AllLetters()).Draw(t, "letters")
		f := genFrame(10).Draw(t, "frame")
		x, err := l.Pose(f)
		if err != nil {
			t.Fatalf("%v", err)
		}
		if err := x.Check(1e-14); err != nil {
			t.Errorf("pose: %v", err)
		}
		back, err := l.FrameOf(x)
		if err != nil {
			t.Fatalf("%v", err)
		}
		nearFrame(t, "frame back", back, f, 0)
		q, err := x.Quaternion().Transform()
		if err != nil {
			t.Fatalf("%v", err)
		}
		nearVec(t, "hinge from the quaternion", Transform{X: q.X, Y: q.Y, Z: q.Z}.Turn(letterVec(l.Hinge)), f.Hinge, 1e-14)
		nearVec(t, "side from the quaternion", q.Turn(letterVec(l.Side())), f.Side(), 1e-14)
	})
}

func letterVec(l Letter) r3.Vec {
	v, _ := l.Vec()
	return v
}

func TestParseLetters(t *testing.T) {
	for _, l := range AllLetters() {
		for _, text := range []string{
			l.String(),
			"reach=" + string(l.Reach) + ",side=" + string(l.Side()),
			"side=" + string(l.Side()) + " hinge=" + string(l.Hinge),
			l.String() + " side=" + string(l.Side()),
		} {
			if got, err := ParseLetters(text); err != nil || got != l {
				t.Errorf("ParseLetters(%q) = %v, %v, want %v", text, got, err, l)
			}
		}
	}
	if got, err := ParseLetters("Hinge=+z\treach=-x"); err != nil || got != (Letters{PlusZ, MinusX}) {
		t.Errorf("lower case and plus sign: %v, %v", got, err)
	}
}

func TestLettersBadInput(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", `letters "": give two of hinge=, reach= and side=`},
		{"hinge=Z", `letters "hinge=Z": give two of hinge=, reach= and side=`},
		{"hinge=Z reach=-Z", `letters "hinge=Z reach=-Z": hinge, reach and side need three different letters with side = hinge x reach (right-handed)`},
		{"hinge=Z reach=X side=-Y", `letters "hinge=Z reach=X side=-Y": hinge, reach and side need three different letters with side = hinge x reach (right-handed)`},
		{"hinge=Z reach=W", `letters "hinge=Z reach=W": "reach=W": a letter is X, Y or Z, with - in front for the opposite direction`},
		{"hinge=Z nose=X", `letters "hinge=Z nose=X": "nose=X" is not hinge=, reach= or side=`},
		{"hinge=Z hinge=Z", `letters "hinge=Z hinge=Z": hinge is given twice`},
	} {
		got, err := ParseLetters(c.text)
		wantText(t, err, c.want)
		if got != (Letters{}) {
			t.Errorf("letters %v beside the error", got)
		}
	}
	var le *LettersError
	for _, l := range []Letters{{}, {PlusX, MinusX}, {"Q", PlusX}} {
		if _, err := l.Pose(Frame{}); !errors.As(err, &le) {
			t.Errorf("Pose with %v: %v", l, err)
		}
		if _, err := l.FrameOf(Identity()); !errors.As(err, &le) {
			t.Errorf("FrameOf with %v: %v", l, err)
		}
		if s := l.Side(); s != "" {
			t.Errorf("side of %v = %q", l, s)
		}
	}
}

func FuzzParseLetters(f *testing.F) {
	f.Add("hinge=Z reach=X")
	f.Add("side=-Y,hinge=+z")
	f.Add("reach==X hinge=")
	f.Fuzz(func(t *testing.T, text string) {
		l, err := ParseLetters(text)
		if err != nil {
			return
		}
		if again, err := ParseLetters(l.String()); err != nil || again != l {
			t.Errorf("%q parses to %v, which parses to %v, %v", text, l, again, err)
		}
	})
}

func BenchmarkLettersPose(b *testing.B) {
	b.ReportAllocs()
	f := Frame{Hinge: v3(0, 1, 0), Reach: v3(0, 0, 1)}
	for b.Loop() {
		if _, err := (Letters{MinusY, PlusX}).Pose(f); err != nil {
			b.Fatal(err)
		}
	}
}
