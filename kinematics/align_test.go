package kinematics

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func framesAlong(dirs ...r3.Vec) []Frame {
	frames := make([]Frame, len(dirs))
	for i, d := range dirs {
		u := unit(d)
		frames[i] = Frame{Origin: v3(float64(i), 0, 0), Hinge: u, Reach: Perpendicular(u)}
	}
	return frames
}

func TestAlignHinges(t *testing.T) {
	for _, c := range []struct {
		name   string
		frames []Frame
		want   []bool
	}{
		{"none", nil, []bool{}},
		{"finger whose middle hinge is reversed", framesAlong(v3(0, 0, 1), v3(0, 0.1, -1), v3(0, 0, 1)), []bool{false, true, false}},
		{"all against the first", framesAlong(v3(0, 0, 1), v3(0, 0, -1), v3(0, 0, -1)), []bool{false, true, true}},
		{
			"leg: yaw, roll, pitch, knee and ankle pitch, ankle roll",
			framesAlong(v3(0, 0, 1), v3(1, 0, 0), v3(0, 1, 0), v3(0, -1, 0), v3(0.1, 1, 0), v3(-1, 0, 0.1)),
			[]bool{false, false, false, true, false, true},
		},
		{"about perpendicular keeps its sense", framesAlong(v3(0, 0, 1), v3(1, 0, -0.1)), []bool{false, false}},
		{"a fan that turns round by small steps", framesAlong(v3(1, 0, 0), v3(1, 1, 0), v3(0, 1, 0), v3(-1, 1, 0)), []bool{false, false, false, false}},
	} {
		if got := AlignHinges(c.frames); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestAlignHingesProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		frames := rapid.SliceOfN(genFrame(5), 1, 8).Draw(t, "frames")
		flip := AlignHinges(frames)
		aligned := make([]Frame, len(frames))
		for i, f := range frames {
			aligned[i] = f
			if flip[i] {
				aligned[i] = f.Flipped()
			}
		}
		if again := AlignHinges(aligned); slices.Contains(again, true) {
			t.Errorf("aligned hinges flip again: %v", again)
		}
		// However the senses were to begin with, the result is the same, but for
		// hinges that are free to keep theirs.
		for i := 1; i < len(frames); i++ {
			near := 0.0
			for k := range i {
				near = max(near, math.Abs(r3.Dot(frames[i].Hinge, frames[k].Hinge)))
			}
			if near < minKinship+1e-6 {
				return
			}
		}
		other := slices.Clone(frames)
		for i := 1; i < len(other); i++ {
			if rapid.Bool().Draw(t, "reverse") {
				other[i] = other[i].Flipped()
			}
		}
		for i, f := range AlignHinges(other) {
			g := other[i]
			if f {
				g = g.Flipped()
			}
			nearVec(t, "aligned hinge", g.Hinge, aligned[i].Hinge, 0)
		}
	})
}

// Oracle: mirror the moved point, or move the mirrored point.
func TestMirrorHinge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hinge, plane := genAxis(5).Draw(t, "hinge"), genAxis(5).Draw(t, "plane")
		p := genPoint(5).Draw(t, "p")
		v := rapid.Float64Range(-3, 3).Draw(t, "value")
		mirror := func(q r3.Vec) r3.Vec { return r3.Sub(q, r3.Scale(2*plane.Along(q), plane.Dir)) }
		want := mirror(Rotation(hinge, v).Apply(p))
		nearVec(t, "same sign", Rotation(MirrorHinge(hinge, plane, true), v).Apply(mirror(p)), want, 1e-12)
		nearVec(t, "opposite sign", Rotation(MirrorHinge(hinge, plane, false), -v).Apply(mirror(p)), want, 1e-12)
		back := MirrorHinge(MirrorHinge(hinge, plane, true), plane, true)
		nearVec(t, "mirrored twice: direction", back.Dir, hinge.Dir, 1e-14)
		nearVec(t, "mirrored twice: point", back.Point, hinge.Point, 1e-13)
	})
}
