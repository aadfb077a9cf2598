package kinematics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// Source: J. J. Craig, Introduction to Robotics, sect. 3.7, PUMA 560: alpha = 0,
// -90, 0, -90, 90, -90; a = 0, 0, a2, a3, 0, 0; d = 0, 0, d3, d4, 0, 0. The
// convention leaves the sign of each normal open, so lengths and angles are
// compared without sign.
func TestDHFramesOfPuma(t *testing.T) {
	const a2, a3, d3, d4 = 0.4318, 0.0203, 0.12446, 0.4318
	table := []DHRow{
		{0, 0, 0, 0},
		{0, -math.Pi / 2, 0, 0},
		{a2, 0, d3, 0},
		{a3, -math.Pi / 2, d4, 0},
		{0, math.Pi / 2, 0, 0},
		{0, -math.Pi / 2, 0, 0},
	}
	x := Identity()
	axes := make([]Axis, len(table))
	for i, r := range table {
		x = x.Mul(r.Transform())
		axes[i] = Axis{Point: x.Apply(v3(0, 0, 0.3*float64(i))), Dir: x.Z} // anywhere along it
	}
	_, got, err := DHFrames(axes, 1e-9)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range got {
		want := table[i+1]
		near(t, "a", r.A, want.A, 1e-15)
		near(t, "alpha", math.Abs(math.Sin(r.Alpha)), math.Abs(math.Sin(want.Alpha)), 1e-15)
		near(t, "d", math.Abs(r.D), want.D, 1e-15)
	}
}

// Oracle: the rows chain the first frame into every other.
func TestDHRowsChain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 7).Draw(t, "n")
		axes := make([]Axis, n)
		for i := range axes {
			axes[i] = genAxis(5).Draw(t, "axis")
			if i == 0 {
				continue
			}
			switch rapid.SampledFrom([]string{"skew", "skew", "parallel", "meeting", "same"}).Draw(t, "kind") {
			case "parallel":
				axes[i].Dir = r3.Scale(rapid.SampledFrom([]float64{1, -1}).Draw(t, "sense"), axes[i-1].Dir)
			case "meeting":
				axes[i].Point = axes[i-1].At(rapid.Float64Range(-3, 3).Draw(t, "s"))
			case "same":
				axes[i] = Axis{Point: axes[i-1].At(2), Dir: axes[i-1].Dir}
			}
			if s := Angle(axes[i].Dir, axes[i-1].Dir); s < 0.05 && s > 1e-12 || s > math.Pi-0.05 && s < math.Pi-1e-12 {
				t.Skip("nearly parallel: feet far away")
			}
		}
		frames, rows, err := DHFrames(axes, 1e-9)
		if err != nil {
			t.Fatalf("%v", err)
		}
		x := frames[0].Transform()
		for i, f := range frames {
			if err := f.Check(); err != nil {
				t.Errorf("frame %d: %v", i, err)
			}
			near(t, "origin on its axis", axes[i].Distance(f.Origin), 0, 1e-9)
			nearVec(t, "hinge along its axis", f.Hinge, axes[i].Dir, 0)
			if i > 0 {
				near(t, "normal square to this axis", r3.Dot(frames[i-1].Reach, f.Hinge), 0, 1e-9)
				x = x.Mul(rows[i-1].Transform())
				if rows[i-1].A < -1e-9 {
					t.Errorf("row %d has a = %v", i-1, rows[i-1].A)
				}
			}
			nearRows(t, "chained rows", x, f.Transform(), 1e-8)
		}
	})
}

func TestDHFramesBadInput(t *testing.T) {
	_, _, err := DHFrames([]Axis{{Dir: v3(0, 0, 1)}, {}}, 0)
	wantText(t, err, "axis 2: axis direction (0, 0, 0) has length 0, less than 1e-290: give a direction that has a length")
	frames, rows, err := DHFrames(nil, 0)
	if err != nil || len(frames) != 0 || len(rows) != 0 {
		t.Errorf("no axes: %v, %v, %v", frames, rows, err)
	}
}

func BenchmarkDHFrames(b *testing.B) {
	b.ReportAllocs()
	axes := []Axis{{Dir: v3(0, 0, 1)}, about(v3(1, 0, 0), v3(0, 1, 0)), about(v3(2, 0, 1), v3(0, 1, 0)), about(v3(3, 1, 1), v3(1, 1, 0))}
	for b.Loop() {
		if _, _, err := DHFrames(axes, 1e-9); err != nil {
			b.Fatal(err)
		}
	}
}
