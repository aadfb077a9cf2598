package kinematics

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func mustBuild(t failer, s FrameSpec, around Surroundings) Frame {
	t.Helper()
	f, err := Build(s, around)
	if err != nil {
		t.Fatalf("Build(%+v): %v", s, err)
	}
	return f
}

// Frame from a hinge and a reach direction in closed form: reach = normalise(r -
// (r.h) h), side = hinge x reach.
func TestBuildClosedForm(t *testing.T) {
	f := mustBuild(t, FrameSpec{
		Datum: Axis{Point: v3(7, 8, 9), Dir: v3(1, 2, 2)},
		Reach: Aim{At: Reference{Kind: FromDirection, Dir: v3(2, 1, -1)}},
	}, Surroundings{})
	nearVec(t, "origin", f.Origin, v3(7, 8, 9), 0)
	nearVec(t, "reach", f.Reach, r3.Scale(1/(15*math.Sqrt2), v3(16, 5, -13)), 1e-15)
	nearVec(t, "side", f.Side(), r3.Scale(1/(5*math.Sqrt2), v3(-4, 5, -3)), 1e-15)
	nearQuaternion(t, "frame", f.Quaternion(),
		Quaternion{-0.308412785651161, 0.267484990819219, 0.226557195987276, 0.884310562121541}, 1e-14)

	f = mustBuild(t, FrameSpec{
		Datum: Axis{Dir: v3(0, 0, 1)},
		Reach: Aim{At: Reference{Kind: FromPoint, Point: v3(3, 4, 12)}},
	}, Surroundings{})
	nearVec(t, "reach", f.Reach, v3(0.6, 0.8, 0), 1e-15)
	nearVec(t, "side", f.Side(), v3(-0.8, 0.6, 0), 1e-15)
	nearQuaternion(t, "frame", f.Quaternion(), Quaternion{0, 0, 0.447213595499958, 0.894427190999916}, 1e-14)

	_, err := Build(FrameSpec{
		Datum: Axis{Dir: v3(0, 1, 0)},
		Reach: Aim{At: Reference{Kind: FromDirection, Dir: v3(0, 5, 0)}},
	}, Surroundings{})
	wantText(t, err, "reach: cannot aim reach at direction (0, 5, 0): it lies on or runs along the hinge (sine 0, need 1e-06), choose a reference off the hinge")
}

func TestBuildSources(t *testing.T) {
	z := Axis{Point: v3(1, 0, 0), Dir: v3(0, 0, 1)}
	elbow := Frame{Origin: v3(1, 6, 2), Hinge: v3(1, 0, 0), Reach: v3(0, 0.6, 0.8)}
	around := Surroundings{Frame: func(name string) (Frame, bool) { return elbow, name == "elbow" }}
	joint := func(f Feature) Reference { return Reference{Kind: FromJoint, Joint: "elbow", Feature: f} }
	for _, c := range []struct {
		name        string
		reach, roll Aim
		wantHinge   r3.Vec
		wantReach   r3.Vec
	}{
		{"datum", Aim{}, Aim{}, v3(0, 0, 1), v3(1, 0, 0)},
		{"typed turn", Aim{Angle: deg(30)}, Aim{}, v3(0, 0, 1), v3(math.Sqrt(3)/2, 0.5, 0)},
		{"point", Aim{At: Reference{Kind: FromPoint, Point: v3(1, 5, 9)}}, Aim{}, v3(0, 0, 1), v3(0, 1, 0)},
		{"side at a point", Aim{Role: RoleSide, At: Reference{Kind: FromPoint, Point: v3(1, 5, 9)}}, Aim{}, v3(0, 0, 1), v3(1, 0, 0)},
		{"edge", Aim{At: Reference{Kind: FromDirection, Dir: v3(-3, 0, 4)}}, Aim{}, v3(0, 0, 1), v3(-1, 0, 0)},
		{"world axis", Aim{At: Reference{Kind: FromWorld, World: MinusY}}, Aim{}, v3(0, 0, 1), v3(0, -1, 0)},
		{"reach of a joint", Aim{At: joint("")}, Aim{}, v3(0, 0, 1), v3(0, 1, 0)},
		{"hinge of a joint", Aim{At: joint(TheirHinge)}, Aim{}, v3(0, 0, 1), v3(1, 0, 0)},
		{"side of a joint", Aim{At: joint(TheirSide)}, Aim{}, v3(0, 0, 1), v3(0, -1, 0)},
		{"origin of a joint", Aim{At: joint(TheirOrigin)}, Aim{}, v3(0, 0, 1), v3(0, 1, 0)},
		{"common normal with a joint", Aim{At: joint(TheirNormal)}, Aim{}, v3(0, 0, 1), v3(0, 1, 0)},
		{"typed roll", Aim{}, Aim{Angle: deg(30)}, v3(0, -0.5, math.Sqrt(3)/2), v3(1, 0, 0)},
		{
			"roll: hinge at a point",
			Aim{},
			Aim{At: Reference{Kind: FromPoint, Point: v3(9, 3, 4)}},
			v3(0, 0.6, 0.8), v3(1, 0, 0),
		},
		{
			"roll: side at a point",
			Aim{},
			Aim{Role: RoleSide, At: Reference{Kind: FromPoint, Point: v3(9, 3, 4)}},
			v3(0, -0.8, 0.6), v3(1, 0, 0),
		},
		{
			"roll: hinge along a direction and 10 deg more",
			Aim{},
			Aim{At: Reference{Kind: FromDirection, Dir: v3(5, 1, 0)}, Angle: deg(10)},
			v3(0, math.Cos(deg(10)), math.Sin(deg(10))), v3(1, 0, 0),
		},
		{"roll: hinge as another joint's side", Aim{}, Aim{At: joint(TheirSide)}, v3(0, -0.8, 0.6), v3(1, 0, 0)},
	} {
		f := mustBuild(t, FrameSpec{Datum: z, Reach: c.reach, Roll: c.roll}, around)
		nearVec(t, c.name+": hinge", f.Hinge, c.wantHinge, 1e-15)
		nearVec(t, c.name+": reach", f.Reach, c.wantReach, 1e-15)
		nearVec(t, c.name+": origin", f.Origin, z.Point, 0)
	}
}

func TestBuildSlideAndFlip(t *testing.T) {
	s := FrameSpec{Datum: Axis{Point: v3(1, 0, 0), Dir: v3(0, 0, 2)}, Slide: 3, Reach: Aim{Angle: deg(20)}}
	nearVec(t, "slid origin", mustBuild(t, s, Surroundings{}).Origin, v3(1, 0, 3), 0)
	s.Flip = true
	f := mustBuild(t, s, Surroundings{})
	nearVec(t, "a flip moves nothing", f.Origin, v3(1, 0, 3), 0)
	nearVec(t, "flipped hinge", f.Hinge, v3(0, 0, -1), 0)
	s.Datum.Dir = v3(0, 0, 1)
	near(t, "slide to a point", s.SlideTo(v3(5, 5, 5)), 5, 0)
	o, err := s.Origin()
	nearVec(t, "origin without building", o, f.Origin, 0)
	if err != nil {
		t.Error(err)
	}
}

func TestDefaultReach(t *testing.T) {
	hinge := Axis{Point: v3(0, 0, 10), Dir: v3(0, 0, 1)}
	far, near := v3(0, 2, -3), v3(0, 0.1, 30)
	for _, c := range []struct {
		name   string
		around Surroundings
		want   r3.Vec
		target string
	}{
		{"next joint", Surroundings{Next: []r3.Vec{far}, Centroid: &r3.Vec{X: 1}}, v3(0, 1, 0), "the next joint"},
		{
			"two next joints",
			Surroundings{Next: []r3.Vec{v3(1, 1, 0), v3(-1, 1, 5)}},
			v3(0, 1, 0), "the middle of the next joints",
		},
		{
			"next joint on the hinge line",
			Surroundings{Next: []r3.Vec{near}, Centroid: &r3.Vec{X: -1}},
			v3(-1, 0, 0), "the child part's centroid",
		},
		{"centroid on the hinge line", Surroundings{Centroid: &near}, v3(1, 0, 0), "a model axis"},
		{"nothing", Surroundings{}, v3(1, 0, 0), "a model axis"},
		{"next joint at the origin", Surroundings{Next: []r3.Vec{hinge.Point}}, v3(1, 0, 0), "a model axis"},
	} {
		got, target := DefaultReach(hinge, c.around)
		nearVec(t, c.name, got, c.want, 1e-15)
		if target != c.target {
			t.Errorf("%s: points at %q, want %q", c.name, target, c.target)
		}
	}
}

// genSpec draws a recipe that no reference makes degenerate, most with every
// step in use.
func genSpec() *rapid.Generator[FrameSpec] {
	return rapid.Custom(func(t *rapid.T) FrameSpec {
		ref := func(name string) Reference {
			switch rapid.IntRange(0, 3).Draw(t, name) {
			case 0:
				return Reference{Kind: FromPoint, Point: genPoint(10).Draw(t, name+" point")}
			case 1:
				return Reference{Kind: FromDirection, Dir: genUnit().Draw(t, name+" dir")}
			case 2:
				f := rapid.SampledFrom([]Feature{"", TheirHinge, TheirReach, TheirSide, TheirOrigin, TheirNormal})
				return Reference{Kind: FromJoint, Joint: "other", Feature: f.Draw(t, name+" feature")}
			}
			return Reference{}
		}
		angle := rapid.Float64Range(-math.Pi, math.Pi)
		return FrameSpec{
			Datum: genAxis(10).Draw(t, "datum"),
			Flip:  rapid.Bool().Draw(t, "flip"),
			Slide: rapid.Float64Range(-5, 5).Draw(t, "slide"),
			Reach: Aim{
				Role: rapid.SampledFrom([]Role{"", RoleReach, RoleSide}).Draw(t, "reach role"),
				At:   ref("reach"), Angle: angle.Draw(t, "turn"),
			},
			Roll: Aim{
				Role: rapid.SampledFrom([]Role{"", RoleHinge, RoleSide}).Draw(t, "roll role"),
				At:   ref("roll"), Angle: angle.Draw(t, "roll"),
			},
		}
	})
}

// moved returns the recipe in a model that has been moved and scaled as a whole.
func (s FrameSpec) moved(w Transform, k float64) FrameSpec {
	at := func(r Reference) Reference {
		r.Point = w.Apply(r3.Scale(k, r.Point))
		r.Dir = w.Turn(r.Dir)
		return r
	}
	s.Datum = w.Axis(Axis{Point: r3.Scale(k, s.Datum.Point), Dir: s.Datum.Dir})
	s.Slide *= k
	s.Reach.At, s.Roll.At = at(s.Reach.At), at(s.Roll.At)
	return s
}

func TestBuildProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := genSpec().Draw(t, "spec")
		other := genFrame(10).Draw(t, "other")
		next, centroid := genPoint(10).Draw(t, "next"), genPoint(10).Draw(t, "centroid")
		around := Surroundings{
			Next: []r3.Vec{next}, Centroid: &centroid, Size: 20,
			Frame: func(string) (Frame, bool) { return other, true },
		}
		f, err := Build(s, around)
		var aim *AimError
		if errors.As(err, &aim) {
			t.Skip("degenerate reference")
		}
		if err != nil {
			t.Fatalf("%v", err)
		}
		if err := f.Check(); err != nil {
			t.Errorf("%v", err)
		}
		near(t, "right-handed", r3.Dot(r3.Cross(f.Reach, f.Side()), f.Hinge), 1, 1e-14)

		// The hinge stays on the datum to the last bit unless it is rolled.
		still := s
		still.Roll = Aim{}
		g := mustBuild(t, still, around)
		want := s.Datum.Dir
		if s.Flip {
			want = r3.Scale(-1, want)
		}
		if g.Hinge != want {
			t.Errorf("hinge %v is off its datum %v", g.Hinge, want)
		}
		near(t, "origin on the datum", s.Datum.Distance(f.Origin), 0, 1e-14)
		// A roll turns about reach and leaves it alone; RollOf reads it back.
		if f.Reach != g.Reach {
			t.Errorf("roll moved the reach from %v to %v", g.Reach, f.Reach)
		}
		if s.Roll.At.Kind == "" {
			near(t, "roll read back", wrap(s.RollOf(f)-s.Roll.Angle), 0, 1e-14)
		}

		// A recipe that a nudge of its datum upsets is about degenerate.
		for _, e := range []r3.Vec{v3(1e-9, 0, 0), v3(0, 1e-9, 0), v3(0, 0, 1e-9), v3(-1e-9, 0, 0), v3(0, -1e-9, 0), v3(0, 0, -1e-9)} {
			nudged := s
			nudged.Datum.Dir = unit(r3.Add(s.Datum.Dir, e))
			n, err := Build(nudged, around)
			if err == nil {
				nudged = s
				nudged.Datum.Point = r3.Add(s.Datum.Point, e)
				if p, errP := Build(nudged, around); errP != nil || r3.Norm(r3.Sub(p.Reach, f.Reach)) > 1e-6 {
					t.Skip("a reference that nearly meets the hinge")
				}
			}
			if err != nil || r3.Norm(r3.Sub(n.Hinge, f.Hinge))+r3.Norm(r3.Sub(n.Reach, f.Reach)) > 1e-6 {
				t.Skip("nearly degenerate reference")
			}
		}
		// World motion and scale move the frame with the model.
		w, k := genMotion(10).Draw(t, "world"), rapid.Float64Range(1e-2, 1e2).Draw(t, "scale")
		place := func(p r3.Vec) r3.Vec { return w.Apply(r3.Scale(k, p)) }
		wantF, otherW := w.Frame(f), w.Frame(other)
		wantF.Origin, otherW.Origin = place(f.Origin), place(other.Origin)
		centroidW := place(centroid)
		_, target := DefaultReach(g.Axis(), around)
		if s.Reach.At.Kind == "" && target == "a model axis" {
			return // model axes do not move with the model
		}
		moved := mustBuild(t, s.moved(w, k), Surroundings{
			Next: []r3.Vec{place(next)}, Centroid: &centroidW, Size: 20 * k,
			Frame: func(string) (Frame, bool) { return otherW, true },
		})
		nearFrame(t, "moved and scaled", moved, wantF, 1e-9*max(1, k))
	})
}

// An aimed role points at its reference as nearly as its turn allows: no other
// angle of the turn brings it nearer.
func TestBuildAimsBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := FrameSpec{Datum: genAxis(10).Draw(t, "datum")}
		p := genPoint(10).Draw(t, "p")
		ref := Reference{Kind: FromPoint, Point: p}
		reachRole := rapid.SampledFrom([]Role{RoleReach, RoleSide}).Draw(t, "reach role")
		rollRole := rapid.SampledFrom([]Role{RoleHinge, RoleSide}).Draw(t, "roll role")
		extra := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "extra")
		toward := r3.Sub(p, s.Datum.Point)
		roleOf := func(f Frame, r Role) r3.Vec {
			return map[Role]r3.Vec{RoleHinge: f.Hinge, RoleReach: f.Reach, RoleSide: f.Side()}[r]
		}
		for _, c := range []struct {
			spec func(extra float64) FrameSpec
			role Role
		}{
			{func(x float64) FrameSpec { s := s; s.Reach = Aim{reachRole, ref, x}; return s }, reachRole},
			{func(x float64) FrameSpec { s := s; s.Roll = Aim{rollRole, ref, x}; return s }, rollRole},
		} {
			best, err := Build(c.spec(0), Surroundings{})
			if err != nil {
				t.Skip("degenerate reference")
			}
			off := mustBuild(t, c.spec(extra), Surroundings{})
			if a, b := Angle(roleOf(best, c.role), toward), Angle(roleOf(off, c.role), toward); a > b+1e-9 {
				t.Errorf("%s is %.9f from the point, but %.9f after %.9f more", c.role, a, b, extra)
			}
		}
	})
}

// Flipping a recipe reverses the hinge and keeps the role that was aimed.
func TestFlippedSpec(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := genSpec().Draw(t, "spec")
		s.Roll = Aim{}
		if s.Reach.At.Feature == TheirNormal { // the normal of meeting lines follows the hinge's sense
			s.Reach.At.Feature = TheirReach
		}
		if s.Reach.At.Kind == "" {
			s.Reach.Role = RoleReach
		}
		other := genFrame(10).Draw(t, "other")
		around := Surroundings{Frame: func(string) (Frame, bool) { return other, true }}
		f, err := Build(s, around)
		if err != nil {
			t.Skip("degenerate reference")
		}
		g := mustBuild(t, s.Flipped(), around)
		nearVec(t, "hinge", g.Hinge, r3.Scale(-1, f.Hinge), 0)
		if s.Reach.Role == RoleSide {
			nearVec(t, "side kept", g.Side(), f.Side(), 1e-14)
		} else {
			nearVec(t, "reach kept", g.Reach, f.Reach, 1e-14)
		}
		if back := s.Flipped().Flipped(); back != s {
			t.Errorf("flipped twice: %+v, want %+v", back, s)
		}
	})
}

func TestBuildBadInput(t *testing.T) {
	nan := math.NaN()
	z := Axis{Dir: v3(0, 0, 1)}
	elbow := Frame{Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}
	at := func(r Reference) FrameSpec { return FrameSpec{Datum: z, Reach: Aim{At: r}} }
	roll := func(r Reference) FrameSpec {
		return FrameSpec{Datum: z, Reach: Aim{At: Reference{Kind: FromWorld, World: PlusX}}, Roll: Aim{At: r}}
	}
	around := Surroundings{Size: 10, Frame: func(name string) (Frame, bool) {
		return map[string]Frame{"elbow": elbow, "broken": {}}[name], name == "elbow" || name == "broken"
	}}
	for _, c := range []struct {
		name string
		spec FrameSpec
		want string
	}{
		{"no datum", FrameSpec{}, "datum axis: axis direction (0, 0, 0) has length 0, less than 1e-290: give a direction that has a length"},
		{"NaN datum", FrameSpec{Datum: Axis{Point: v3(nan, 0, 0), Dir: v3(0, 0, 1)}}, "datum axis: axis point (NaN, 0, 0) is not finite: give three finite numbers"},
		{"NaN slide", FrameSpec{Datum: z, Slide: nan}, `datum axis: frame slide "NaN": give a finite length`},
		{"infinite turn", FrameSpec{Datum: z, Reach: Aim{Angle: math.Inf(1)}}, `reach: frame angle "+Inf": give a finite angle`},
		{"wrong role", FrameSpec{Datum: z, Reach: Aim{Role: RoleHinge}}, `reach: frame role "hinge": this turn aims reach or side`},
		{"wrong roll role", FrameSpec{Datum: z, Roll: Aim{Role: RoleReach}}, `roll: frame role "reach": this turn aims hinge or side`},
		{"unknown kind", at(Reference{Kind: "moon"}), `reach: frame reference "moon": give datum, point, direction, joint or world`},
		{"unknown world axis", at(Reference{Kind: FromWorld, World: "W"}), `reach: frame world axis "W": give X, -X, Y, -Y, Z or -Z`},
		{"world axis along the hinge", at(Reference{Kind: FromWorld, World: MinusZ}), "reach: cannot aim reach at model axis -Z: it lies on or runs along the hinge (sine 0, need 1e-06), choose a reference off the hinge"},
		{"point on the hinge", at(Reference{Kind: FromPoint, Point: v3(0, 0, 7)}), "reach: cannot aim reach at point (0, 0, 7): it lies on or runs along the hinge (sine 0, need 1e-06), choose a reference off the hinge"},
		{"point at the origin, by rounding", at(Reference{Kind: FromPoint, Point: v3(1e-7, 0, 0)}), "reach: cannot aim reach at point (1e-07, 0, 0): it lies on or runs along the hinge (sine 0, need 1e-06), choose a reference off the hinge"},
		{"NaN point", at(Reference{Kind: FromPoint, Point: v3(0, nan, 0)}), "reach: picked point (0, NaN, 0) is not finite: give three finite numbers"},
		{"no direction", at(Reference{Kind: FromDirection}), "reach: picked direction (0, 0, 0) has length 0, less than 1e-290: give a direction that has a length"},
		{"missing joint", at(Reference{Kind: FromJoint, Joint: "knee"}), `reach: the frame refers to joint "knee", which does not exist: choose another reference`},
		{"unknown feature", at(Reference{Kind: FromJoint, Joint: "elbow", Feature: "nose"}), `reach: frame feature "nose": give hinge, reach, side, origin or normal`},
		{"joint along the hinge", at(Reference{Kind: FromJoint, Joint: "elbow", Feature: TheirHinge}), `reach: cannot aim reach at the hinge of joint "elbow": it lies on or runs along the hinge (sine 0, need 1e-06), choose a reference off the hinge`},
		{"normal of one line", at(Reference{Kind: FromJoint, Joint: "elbow", Feature: TheirNormal}), `reach: cannot aim reach at the normal of joint "elbow": it lies on or runs along the hinge (sine 0, need 1e-06), choose a reference off the hinge`},
		{"broken joint", at(Reference{Kind: FromJoint, Joint: "broken"}), `reach: joint "broken": not a joint frame: hinge is off unit length by 1, more than 1e-09: build the frame from its datum again`},
		{"roll along the reach", roll(Reference{Kind: FromWorld, World: PlusX}), "roll: cannot aim hinge at model axis X: it lies on or runs along the reach (sine 0, need 1e-06), choose a reference off the reach"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Build(c.spec, around)
			wantText(t, err, c.want)
			if f != (Frame{}) {
				t.Errorf("frame %v beside the error", f)
			}
		})
	}
	if _, err := Build(at(Reference{Kind: FromJoint, Joint: "elbow"}), Surroundings{}); err == nil {
		t.Error("a joint reference without surroundings is no error")
	}
	// NaN in fields that the kind does not use must not matter.
	s := at(Reference{Kind: FromWorld, World: PlusX, Point: v3(nan, nan, nan), Dir: v3(nan, nan, nan)})
	nearVec(t, "reach", mustBuild(t, s, Surroundings{Next: []r3.Vec{v3(nan, nan, nan)}}).Reach, v3(1, 0, 0), 0)
}

func TestNewFrameAndCheck(t *testing.T) {
	f, err := NewFrame(v3(1, 2, 3), v3(0, 0, 5), v3(3, 4, 12))
	if err != nil {
		t.Fatal(err)
	}
	nearFrame(t, "frame", f, Frame{Origin: v3(1, 2, 3), Hinge: v3(0, 0, 1), Reach: v3(0.6, 0.8, 0)}, 1e-15)
	nearFrame(t, "pose and back", FrameOf(f.Transform()), f, 0)
	for _, c := range []struct{ o, h, r r3.Vec }{
		{v3(0, 0, 0), v3(0, 0, 0), v3(1, 0, 0)},
		{v3(0, 0, 0), v3(0, 0, 1), v3(0, 0, 0)},
		{v3(0, 0, 0), v3(0, 0, 1), v3(0, 0, -3)},
		{v3(math.NaN(), 0, 0), v3(0, 0, 1), v3(1, 0, 0)},
	} {
		if f, err := NewFrame(c.o, c.h, c.r); err == nil {
			t.Errorf("NewFrame(%v, %v, %v) = %v", c.o, c.h, c.r, f)
		}
	}
	good := Frame{Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}
	for _, c := range []struct {
		change func(*Frame)
		want   string
	}{
		{func(f *Frame) { f.Origin.Y = math.Inf(1) }, "frame origin (0, +Inf, 0) is not finite: give three finite numbers"},
		{func(f *Frame) { f.Hinge.Z = 2 }, "not a joint frame: hinge is off unit length by 1, more than 1e-09: build the frame from its datum again"},
		{func(f *Frame) { f.Reach = r3.Vec{} }, "not a joint frame: reach is off unit length by 1, more than 1e-09: build the frame from its datum again"},
		{func(f *Frame) { f.Reach = v3(0, 0, 1) }, "not a joint frame: reach is off its right angle to hinge by 1, more than 1e-09: build the frame from its datum again"},
	} {
		f := good
		c.change(&f)
		wantText(t, f.Check(), c.want)
	}
	if err := good.Check(); err != nil {
		t.Error(err)
	}
}

func BenchmarkBuild(b *testing.B) {
	b.ReportAllocs()
	s := FrameSpec{
		Datum: Axis{Point: v3(1, 2, 3), Dir: v3(1, 2, 2)},
		Reach: Aim{At: Reference{Kind: FromPoint, Point: v3(9, 8, 1)}, Angle: 0.1},
		Roll:  Aim{Angle: 0.2},
	}
	for b.Loop() {
		if _, err := Build(s, Surroundings{}); err != nil {
			b.Fatal(err)
		}
	}
}
