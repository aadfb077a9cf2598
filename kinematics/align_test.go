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

// reflected is the mirror image of a motion: mirror, move, mirror back.
func reflected(x Transform, plane Axis) Transform {
	image := func(p r3.Vec) r3.Vec { return r3.Sub(p, r3.Scale(2*plane.Along(p), plane.Dir)) }
	at := func(p r3.Vec) r3.Vec { return image(x.Apply(image(p))) }
	o := at(r3.Vec{})
	return Transform{X: r3.Sub(at(v3(1, 0, 0)), o), Y: r3.Sub(at(v3(0, 1, 0)), o), Z: r3.Sub(at(v3(0, 0, 1)), o), T: o}
}

// The mirrored joint at the mirrored values makes the mirrored motion, and its
// limits hold the mirrored values, for every kind and either rule of sign.
func TestMirrorJoint(t *testing.T) {
	for _, kind := range Kinds() {
		t.Run(string(kind), rapid.MakeCheck(func(t *rapid.T) {
			j := genJoint(kind).Draw(t, "joint")
			for range kind.Freedoms() {
				j.Limits = append(j.Limits, Range{rapid.Float64Range(-3, 0).Draw(t, "lower"), rapid.Float64Range(0, 3).Draw(t, "upper")})
			}
			if kind.Leans() && rapid.Bool().Draw(t, "has cone") {
				c := genCone().Draw(t, "cone")
				j.Cone = &c
			}
			plane := genAxis(5).Draw(t, "plane")
			same := rapid.Bool().Draw(t, "same sign")
			v := genValuesOf(t, kind, 4)
			m := j.MirrorJoint(plane, same)
			if err := m.Check(); err != nil {
				t.Fatalf("%v", err)
			}
			w := kind.MirrorValues(v, same)
			nearRows(t, "mirrored motion", m.Motion(w...), reflected(j.Motion(v...), plane), 1e-12)
			if kind.Turns() && kind != Fixed && (w[0] == v[0]) != same && v[0] != 0 {
				t.Errorf("the turn about the hinge is %v, of %v, same sign: %v", w[0], v[0], same)
			}
			onEdge := false
			if j.Cone != nil {
				azimuth, polar := kind.Lean(v[0], v[1])
				onEdge = math.Abs(polar-j.Cone.At(azimuth)) < 1e-9
			}
			if !onEdge && m.Within(w...) != j.Within(v...) {
				t.Errorf("limits hold %v: %v, their mirror image %v: %v", v, j.Within(v...), w, m.Within(w...))
			}
			back := m.MirrorJoint(plane, same)
			nearFrame(t, "mirrored twice", back.Frame, j.Frame, 1e-13)
			near(t, "pitch mirrored twice", back.Pitch, j.Pitch, 0)
		}))
	}
}
