package doc_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
	"pintle/kinematics"
)

// stud is a bar of half width 1 along x from near the origin, on a joint of a
// kind, between four stops that reach from 8 to 10 along it: 4 off to Side (y), 5
// to Hinge (z), 6.5 and 9 the other way.
func stud(t *testing.T, j doc.Joint) *doc.Session {
	t.Helper()
	part := func(name string, lo, hi r3.Vec) mesh.Part { return mesh.Part{Name: name, Mesh: meshtest.Box(lo, hi)} }
	m := &mesh.Model{Parts: []mesh.Part{
		part("stud", r3.Vec{X: 2, Y: -1, Z: -1}, r3.Vec{X: 14, Y: 1, Z: 1}),
		part("left", r3.Vec{X: 8, Y: 4, Z: -20}, r3.Vec{X: 10, Y: 7, Z: 20}),
		part("top", r3.Vec{X: 8, Y: -20, Z: 5}, r3.Vec{X: 10, Y: 20, Z: 8}),
		part("right", r3.Vec{X: 8, Y: -9, Z: -20}, r3.Vec{X: 10, Y: -6.5, Z: 20}),
		part("bottom", r3.Vec{X: 8, Y: -20, Z: -12}, r3.Vec{X: 10, Y: 20, Z: -9}),
	}}
	path := must[string](t)(doctest.WriteOBJ(t.TempDir(), m))
	s := must[*doc.Session](t)(doc.OpenModel(context.Background(), path, doc.OpenOptions{}))
	j.Name, j.Parent, j.Child, j.Letters = "ball", "left", "stud", kinematics.DenavitHartenberg()
	j.Frame = kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}}
	j.Spec = kinematics.FrameSpec{Datum: j.Frame.Axis()}
	return must[*doc.Session](t)(s.With(must[doc.Document](t)(s.Doc.AddJoint(j))))
}

// leanTo is where the bar's side meets the upper inner edge of a stop: that edge,
// 10 along and d across, is 1 off the bar's axis (closed form).
func leanTo(d float64) float64 { return math.Atan2(d, 10) - math.Asin(1/math.Hypot(d, 10)) }

func TestBallRegionAndItsLimits(t *testing.T) {
	s := stud(t, doc.Joint{Kind: kinematics.Spherical})
	j := s.Doc.Joints[0]
	r := must[*doc.Region](t)(s.Region(context.Background(), j, nil))
	want := map[int]float64{0: leanTo(4), 90: leanTo(5), 180: leanTo(6.5), -90: leanTo(9)}
	found := 0
	for _, ray := range r.Rim() {
		deg := kinematics.Degrees(ray.Azimuth)
		for at, lean := range want {
			if math.Abs(deg-float64(at)) < 1e-9 || at == 180 && math.Abs(deg+180) < 1e-9 {
				found++
				if math.Abs(ray.Lean-lean) > 1e-9 || ray.Event == nil {
					t.Errorf("azimuth %v: leans %v, want %v", deg, ray.Lean, lean)
				}
			}
		}
	}
	if found != 4 {
		t.Errorf("%d of 4 stops looked at", found)
	}
	if n := r.Narrowest(); math.Abs(n.Lean-leanTo(4)) > 1e-9 || s.Parts[r.Still[n.Event.Still]].Name != "left" {
		t.Errorf("narrowest %+v", n)
	}
	if f := s.RegionFindings(j, r); len(f) != 0 {
		t.Errorf("without limits, yet %+v", f)
	}
	// The limits suggested keep clear; wider ones are told with the part they meet.
	limited, ok := r.Suggest(j, 0.03)
	if !ok || limited.Cone == nil || len(limited.Cone.Max) != 36 || limited.Cone.At(0) > leanTo(4)-0.03+1e-9 {
		t.Fatalf("suggested %+v", limited)
	}
	if f := s.RegionFindings(limited, r); len(f) != 0 {
		t.Errorf("the suggested limits are blocked: %+v", f)
	}
	wide := j
	wide.Cone = &kinematics.Cone{Max: []float64{leanTo(4) + 0.1}}
	f := s.RegionFindings(wide, r)
	if len(f) != 1 || f[0].Severity != doc.Stop || f[0].Kind != doc.RangeBlocked || math.Abs(f[0].Value-f[0].Limit-0.1) > 1e-6 || !strings.Contains(f[0].Text, "stud meets left") {
		t.Errorf("findings %+v", f)
	}
	swing := kinematics.Range{Lower: -0.1, Upper: leanTo(4) + 0.05} // about the hinge: to Side
	if f := s.RegionFindings(j.WithLimit(0, &swing).WithLimit(1, &kinematics.Range{}), r); len(f) != 1 || math.Abs(f[0].Value-swing.Upper) > 1e-6 {
		t.Errorf("findings %+v", f)
	}
	list, m, err := s.Prove(context.Background(), wide, nil)
	if err != nil || m != nil || doc.Worst(list) != doc.Stop {
		t.Errorf("proven: %+v, %v, %v", list, m, err)
	}
	if a := r.SolidAngle(); !(a > 0.3 && a < 1.5) {
		t.Errorf("solid angle %v", a)
	}
	if d := doc.Direction(j.Frame, 0, leanTo(4)); r3.Norm(r3.Sub(d, r3.Vec{X: math.Cos(leanTo(4)), Y: math.Sin(leanTo(4))})) > 1e-15 {
		t.Errorf("the reach points %v", d)
	}
}

func TestUniversalRegionAndItsLimits(t *testing.T) {
	s := stud(t, doc.Joint{Kind: kinematics.Universal})
	j := s.Doc.Joints[0]
	r := must[*doc.Region](t)(s.Region(context.Background(), j, nil))
	u := r.Universal
	if u == nil || math.Abs(u.Upper.Value-leanTo(4)) > 1e-9 || math.Abs(u.Lower.Value+leanTo(6.5)) > 1e-9 {
		t.Fatalf("turn about the hinge %+v", u)
	}
	limited, ok := r.Suggest(j, 0.03)
	if !ok {
		t.Fatal("no limits are suggested")
	}
	if about, _ := limited.Limit(0); math.Abs(about.Upper-leanTo(4)+0.03) > 1e-9 {
		t.Errorf("about the hinge %v", about)
	}
	// A positive turn about the side leans away from the hinge: to the stop at -z.
	side, _ := limited.Limit(1)
	if side.Upper > leanTo(9)-0.03+1e-9 || side.Upper < leanTo(9)-0.3 || side.Lower < -leanTo(5)+0.03-1e-9 {
		t.Errorf("about the side %v", side)
	}
	if f := s.RegionFindings(limited, r); len(f) != 0 {
		t.Errorf("the suggested limits are blocked: %+v", f)
	}
	wide := kinematics.Range{Lower: -leanTo(6.5), Upper: leanTo(4) + 0.08}
	if f := s.RegionFindings(j.WithLimit(0, &wide).WithLimit(1, &kinematics.Range{}), r); len(f) != 1 || f[0].Severity != doc.Stop {
		t.Errorf("findings %+v", f)
	}
}

func TestRegionRefuses(t *testing.T) {
	s := stud(t, doc.Joint{Kind: kinematics.Revolute})
	if _, err := s.Region(context.Background(), s.Doc.Joints[0], nil); err == nil || !strings.Contains(err.Error(), "only ball and universal joints lean") {
		t.Errorf("error %v", err)
	}
	gone, cancel := context.WithCancel(context.Background())
	cancel()
	b := stud(t, doc.Joint{Kind: kinematics.Spherical})
	if _, err := b.Region(gone, b.Doc.Joints[0], nil); err == nil {
		t.Error("a cancelled region")
	}
}
