package mechanism

import (
	"math"
	"testing"

	s "pintle/assets/internal/solid"
)

// shells returns the faces of each connected shell of a mesh.
func shells(m s.Mesh) [][][]int32 {
	root := make([]int32, len(m.Vertices))
	for i := range root {
		root[i] = int32(i)
	}
	find := func(i int32) int32 {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	for _, f := range m.Faces {
		for _, v := range f[1:] {
			root[find(v)] = find(f[0])
		}
	}
	index := map[int32]int{}
	var out [][][]int32
	for _, f := range m.Faces {
		r := find(f[0])
		k, ok := index[r]
		if !ok {
			k = len(out)
			index[r] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], f)
	}
	return out
}

func TestEveryShellIsClosedAndOutward(t *testing.T) {
	for _, m := range All() {
		for _, p := range m.Parts {
			for k, faces := range shells(p.Mesh) {
				edges := map[[2]int32]int{}
				for _, f := range faces {
					for i := range f {
						edges[[2]int32{f[i], f[(i+1)%len(f)]}]++
					}
				}
				for e, n := range edges {
					if n != 1 || edges[[2]int32{e[1], e[0]}] != 1 {
						t.Fatalf("%s, %s, shell %d: edge %v is walked %d times, back %d times", m.Name, p.Name, k, e, n, edges[[2]int32{e[1], e[0]}])
					}
				}
				shell := s.Mesh{Vertices: p.Mesh.Vertices, Faces: faces}
				if v := shell.Volume(); !(v > 1) {
					t.Errorf("%s, %s, shell %d near %v: volume %g, want more than 1 mm3", m.Name, p.Name, k, p.Mesh.Vertices[faces[0][0]], v)
				}
			}
		}
	}
}

func TestFacesAreSoundPolygons(t *testing.T) {
	for _, m := range All() {
		quads, total := 0, 0
		for _, p := range m.Parts {
			for k, f := range p.Mesh.Faces {
				total++
				if len(f) == 4 {
					quads++
				}
				n := p.Mesh.AreaVector(f)
				if !(n.Norm() > 1e-5) {
					t.Errorf("%s, %s: face %d of %d corners has area %g", m.Name, p.Name, k, len(f), n.Norm())
					continue
				}
				// Polygons are convex, so that every reader cuts them alike; those
				// of more than four corners are flat as well.
				for i := range f {
					a, b, c := p.Mesh.Vertices[f[i]], p.Mesh.Vertices[f[(i+1)%len(f)]], p.Mesh.Vertices[f[(i+2)%len(f)]]
					if b.Sub(a).Cross(c.Sub(b)).Dot(n.Unit()) < -1e-6 {
						t.Fatalf("%s, %s: face %d is not convex", m.Name, p.Name, k)
					}
					if d := a.Sub(p.Mesh.Vertices[f[0]]).Dot(n.Unit()); len(f) > 4 && math.Abs(d) > 1e-9 {
						t.Fatalf("%s, %s: face %d is bent by %g", m.Name, p.Name, k, d)
					}
				}
			}
		}
		if 2*quads < total {
			t.Errorf("%s: only %d of %d faces are quads", m.Name, quads, total)
		}
	}
}

func TestJointsNameTheirPartsAndFormATree(t *testing.T) {
	loops := map[string]int{"drawbridge": 1}
	for _, m := range All() {
		parts := map[string]bool{}
		for _, p := range m.Parts {
			parts[p.Name] = true
		}
		children := map[string]int{}
		for _, j := range m.Joints {
			if !parts[j.Parent] || !parts[j.Child] || j.Parent == j.Child {
				t.Errorf("%s: joint %s joins %q to %q", m.Name, j.Name, j.Parent, j.Child)
			}
			if math.Abs(j.Axis.Norm()-1) > 1e-14 {
				t.Errorf("%s: axis of %s is %v", m.Name, j.Name, j.Axis)
			}
			if !(j.Lower < j.Value && j.Value < j.Upper) || j.Value == 0 {
				t.Errorf("%s: joint %s stands at %g of %g to %g, want within and away from neutral", m.Name, j.Name, j.Value, j.Lower, j.Upper)
			}
			for _, w := range []s.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
				if angle := math.Atan2(j.Axis.Cross(w).Norm(), math.Abs(j.Axis.Dot(w))); angle < s.Deg(1.5) {
					t.Errorf("%s: axis of %s lies along a world axis", m.Name, j.Name)
				}
			}
			children[j.Child]++
		}
		if extra := len(m.Joints) - len(children); extra != loops[m.Name] {
			t.Errorf("%s: %d joints close loops, want %d", m.Name, extra, loops[m.Name])
		}
		if len(children) != len(m.Parts)-1 {
			t.Errorf("%s: %d parts move, want all %d but one", m.Name, len(children), len(m.Parts))
		}
	}
}

// The pins and bores that carry each hinge: part, radius and how many
// vertices lie on that cylinder about the true axis at least.
func matingCylinders() map[string][]struct {
	joint, part string
	radius      float64
	n           int
} {
	type c = struct {
		joint, part string
		radius      float64
		n           int
	}
	return map[string][]c{
		"tern-arm": {
			{"column", pedestal, 36, 72},
			{"column", turntable, 36, 80},
			{"shoulder", turntable, 20, 60},
			{"shoulder", upperLink, 20, 64},
			{"elbow", upperLink, hubPinR, 48},
			{"elbow", forearm, hubPinR, 72},
			{"wrist bend", forearm, wristPinR, 40},
			{"wrist bend", wrist, wristPinR, 56},
			{"wrist roll", wrist, rollPinR, 56},
			{"wrist roll", palm, rollPinR, 60},
			{"finger 1", palm, fingerPinR, 32},
			{"finger 1", "finger 1", fingerPinR, 44},
			{"finger 2", palm, fingerPinR, 32},
			{"finger 2", "finger 2", fingerPinR, 44},
			{"finger 3", palm, fingerPinR, 32},
			{"finger 3", "finger 3", fingerPinR, 44},
		},
		"drawbridge": {
			{"leaf hinge", abutment, hingePinR, 96},
			{"leaf hinge", leaf, hingePinR, 112},
			{"strut foot", abutment, 12, 40},
			{"strut foot", barrel, 12, 52},
			{"strut head", leaf, 11, 36},
			{"strut head", rod, 11, 52},
			{"strut slide", barrel, rodR, 56},
			{"strut slide", rod, rodR, 52},
			{"strut slide", barrel, boreR, 56},
			{"strut slide", rod, boreR, 52},
		},
		"heron-leg": {
			{"hip", hip, hipPinR, 72},
			{"hip", thigh, hipPinR, 56},
			{"knee", thigh, kneePinR, 44},
			{"knee", shank, kneePinR, 52},
			{"ankle", shank, anklePinR, 36},
			{"ankle", foot, anklePinR, 48},
		},
	}
}

func (m *Mechanism) joint(name string) Joint {
	for _, j := range m.Joints {
		if j.Name == name {
			return j
		}
	}
	return Joint{}
}

// distanceFrom returns the distance of p from the line.
func distanceFrom(p, origin, axis s.Vec) float64 { return axis.Cross(p.Sub(origin)).Norm() }

// Pins and bores lie on the true axes, as their vertices tell: at one distance
// from the axis, spread all round it.
func TestPinsAndBoresLieOnTheTrueAxes(t *testing.T) {
	for _, m := range All() {
		for _, c := range matingCylinders()[m.Name] {
			j := m.joint(c.joint)
			n := 0
			zero := m.Joints[0].Axis // any direction askew to the axis
			if math.Abs(zero.Dot(j.Axis)) > 0.9 {
				zero = s.Vec{X: 1}
			}
			x := zero.Sub(j.Axis.Mul(zero.Dot(j.Axis))).Unit()
			y := j.Axis.Cross(x)
			var round [8]int
			for _, v := range m.part(c.part).Vertices {
				if math.Abs(distanceFrom(v, j.Origin, j.Axis)-c.radius) < 1e-6 {
					n++
					d := v.Sub(j.Origin)
					round[int(4+math.Atan2(d.Dot(y), d.Dot(x))/math.Pi*4)%8]++
				}
			}
			if n < 2*c.n {
				t.Errorf("%s: %d vertices of %s lie %g mm from the axis of %s, want two rings of %d", m.Name, n, c.part, c.radius, c.joint, c.n)
			}
			for _, k := range round {
				if k < c.n/8 {
					t.Errorf("%s: the vertices of %s about %s stand %v in the eight parts of a turn", m.Name, c.part, c.joint, round)
					break
				}
			}
		}
	}
}

// A slider's rod points along the slider, from one pivot of the strut to the
// other.
func TestStrutHangsBetweenItsPivots(t *testing.T) {
	m := Drawbridge()
	foot, head, slide := m.joint("strut foot"), m.joint("strut head"), m.joint("strut slide")
	d := head.Origin.Sub(foot.Origin)
	if off := distanceFrom(head.Origin, foot.Origin, slide.Axis); off > 1e-9 {
		t.Errorf("the slider misses the upper pivot by %g mm", off)
	}
	if got := d.Norm() - strutRest(); math.Abs(got-slide.Value) > 1e-9 {
		t.Errorf("the slider stands at %g, want %g", slide.Value, got)
	}
	for _, j := range []Joint{foot, head} {
		if c := j.Axis.Cross(m.joint("leaf hinge").Axis).Norm(); c > 1e-12 {
			t.Errorf("%s is not parallel to the leaf's hinge: %g", j.Name, c)
		}
	}
}

// inEachOther returns what of any part is inside another. Facets of a bore
// reach into a round pin by the sagitta of the coarser of the two, 0.04 mm at
// most, which is not counted.
func (m *Mechanism) inEachOther() []clash {
	var bodies []body
	for _, p := range m.Parts {
		bodies = append(bodies, newBody(p.Name, p.Mesh, s.World()))
	}
	var out []clash
	for i := range bodies {
		for k := range bodies {
			if i == k {
				continue
			}
			if c, ok := deepest(&bodies[i], &bodies[k], 6, 0.08); ok {
				out = append(out, c)
			}
		}
	}
	return out
}

func TestPartsOnlyTouchAtRest(t *testing.T) {
	for _, m := range All() {
		for _, c := range m.inEachOther() {
			t.Errorf("%s: %s is %.3f mm inside %s at %v", m.Name, c.of, c.depth, c.in, c.at)
		}
	}
}

// Every hinge of the arm and the leg can go through its stated range, the
// others standing as modelled.
func TestStatedRangesAreFree(t *testing.T) {
	for _, m := range []Mechanism{TernArm(), HeronLeg()} {
		for k, j := range m.Joints {
			if j.Stops != nil {
				continue
			}
			for _, at := range []float64{j.Lower, j.Upper} {
				for _, c := range m.clashes(k, at-j.Value, 8, 0.08) {
					t.Errorf("%s, %s at %.0f deg: %s is %.3f mm inside %s at %v", m.Name, j.Name, at*180/math.Pi, c.of, c.depth, c.in, c.at)
				}
			}
		}
	}
}

func TestDrawbridgeOpensAndCloses(t *testing.T) {
	for _, open := range []float64{0, 20, 63} {
		m := drawbridgeAt(s.Deg(open))
		for _, c := range m.inEachOther() {
			t.Errorf("open by %g deg: %s is %.3f mm inside %s at %v", open, c.of, c.depth, c.in, c.at)
		}
		if slide := m.joint("strut slide"); slide.Value < slide.Lower-1e-9 || slide.Value > slide.Upper {
			t.Errorf("open by %g deg: the strut stands at %g of %g to %g", open, slide.Value, slide.Lower, slide.Upper)
		}
	}
}
