package find

import (
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/fit/find/findtest"
	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// known is what a finder without a fault would return.
func known(m findtest.Mechanism) Result {
	var res Result
	for _, j := range m.Joints {
		if j.Parent >= 0 {
			res.Joints = append(res.Joints, Candidate{Parent: j.Parent, Child: j.Child, Kind: Kind(j.Kind), Axis: j.Axis, Origin: j.Origin, Loop: j.Loop, Confidence: 1})
		}
	}
	for _, f := range m.Fixed {
		res.Fixed = append(res.Fixed, Fixed{Part: f[1], To: f[0]})
	}
	return res
}

// Legs are mirrored in y by construction and their names say so: what the
// geometry alone says is the same, in any pose.
func TestSidesOfLegs(t *testing.T) {
	for _, kind := range []string{"quadruped", "biped"} {
		for seed := range uint64(5) {
			rest := findtest.Made(kind, seed)
			for _, m := range []findtest.Mechanism{rest, findtest.Posed(rest, seed), findtest.Scaled(findtest.Posed(rest, seed+9), 1e-3)} {
				sides := Sides(findtest.Renamed(m).Parts, known(m), mesh.UpZ)
				for i, j := range m.Joints {
					want := Middle
					if strings.Contains(j.Name, "left") {
						want = Left
					} else if strings.Contains(j.Name, "right") {
						want = Right
					}
					if sides[i] != want {
						t.Errorf("%s: %s is said to be on the %q side", m.Name, j.Name, sides[i])
					}
				}
			}
		}
	}
}

// Arms, and fingers in a row, have no sides.
func TestNoSides(t *testing.T) {
	for _, kind := range []string{"arm", "hand", "scara", "gear"} {
		for seed := range uint64(3) {
			m := findtest.Made(kind, seed)
			for i, side := range Sides(findtest.Renamed(m).Parts, known(m), mesh.UpZ) {
				if side != Middle {
					t.Errorf("%s: %s is said to be %s", m.Name, m.Joints[i].Name, side)
				}
			}
		}
	}
}

// Where names tell, the geometry follows them.
func TestNamesTellWhichSideIsLeft(t *testing.T) {
	m := findtest.Made("biped", 1)
	for i, p := range m.Parts { // everything the other way round
		name := strings.ReplaceAll(p.Name, "left", "L")
		name = strings.ReplaceAll(name, "right", "left")
		m.Parts[i].Name = strings.ReplaceAll(name, "L", "right")
	}
	for i, side := range Sides(m.Parts, known(m), mesh.UpZ) {
		if want := saysSide(m.Parts[m.Joints[i].Child].Name); side != want {
			t.Errorf("%s is said to be %s", m.Parts[m.Joints[i].Child].Name, side)
		}
	}
}

// The real legs' names say which is left; so does their shape.
func TestSidesOfRealLegs(t *testing.T) {
	for _, posed := range []bool{false, true} {
		m := findtest.Shared(t, "leg-a", posed)
		sides := Sides(findtest.Renamed(m).Parts, known(m), mesh.UpZ)
		names := Names(m.Parts, known(m), mesh.UpZ)
		for i, j := range m.Joints {
			if want := saysSide(m.Parts[j.Child].Name); sides[i] != want || want == Middle {
				t.Errorf("%s is said to be %s", j.Name, sides[i])
			}
			if names[i] != m.Parts[j.Child].Name {
				t.Errorf("%s is renamed %s though it tells", m.Parts[j.Child].Name, names[i])
			}
		}
	}
}

func TestNames(t *testing.T) {
	m := findtest.Made("biped", 2)
	for i := range m.Parts {
		m.Parts[i].Name = "segment"
	}
	names := Names(m.Parts, known(m), mesh.UpZ)
	seen := map[string]bool{}
	for i, n := range names {
		side := strings.Contains(n, " left")
		if want := strings.Contains(m.Joints[i].Name, "left"); side != want || seen[n] {
			t.Errorf("%s is named %s", m.Joints[i].Name, n)
		}
		seen[n] = true
	}
	if names[0] != "segment left" {
		t.Errorf("the first is named %s", names[0])
	}
	loop := findtest.Made("four-bar", 1)
	if names := Names(loop.Parts, known(loop), mesh.UpZ); names[len(names)-1] != "coupler to rocker" {
		t.Errorf("the joint that closes the loop is named %s", names[len(names)-1])
	}
}

func TestJointName(t *testing.T) {
	for in, want := range map[string]string{
		"link_3": "link_3 joint", "upper_arm_link": "upper_arm", "base_link.stl": "base", "Forearm": "Forearm", "FRONT_LEFT_THIGH": "FRONT_LEFT_THIGH",
		"shank visual": "shank", "blink": "blink", "link": "link joint", "Part12": "Part12 joint", "7": "7 joint", "shell group 2": "shell group 2 joint", "wheel_mesh": "wheel", "手": "手",
	} {
		if got := jointName(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
	for in, want := range map[string]Side{
		"FL_THIGH": Left, "thigh_r": Right, "LeftKnee": Left, "hr-foot": Right, "lever": Middle, "left to right": Middle, "Roller": Middle, "leg2L": Left,
	} {
		if got := saysSide(in); got != want {
			t.Errorf("%q says %q, want %q", in, got, want)
		}
	}
}

// Two links of one part never get one name, whatever the parts are called.
func TestNamesDiffer(t *testing.T) {
	box := meshtest.Cylinder(1, 0, 1, 12, 1, true)
	rapid.Check(t, func(t *rapid.T) {
		var parts []mesh.Part
		var res Result
		for i := range rapid.IntRange(1, 8).Draw(t, "parts") {
			parts = append(parts, mesh.Part{Name: rapid.SampledFrom([]string{"", "a", "a 2", "a left", "link", "link_2", ".stl", "L"}).Draw(t, "name"), Mesh: box})
			if i > 0 {
				res.Joints = append(res.Joints, Candidate{Parent: rapid.IntRange(0, i-1).Draw(t, "parent"), Child: i, Kind: Revolute, Axis: axisZ(), Origin: axisZ(), Loop: rapid.Bool().Draw(t, "loop")})
			}
		}
		seen := map[string]bool{}
		for _, n := range Names(parts, res, mesh.UpY) {
			if seen[n] || strings.TrimSpace(n) == "" {
				t.Fatalf("name %q of %v", n, parts)
			}
			seen[n] = true
		}
	})
}

func axisZ() r3.Vec { return r3.Vec{Z: 1} }
