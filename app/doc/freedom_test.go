package doc_test

import (
	"math"
	"strings"
	"testing"

	"pintle/app/doc"
	"pintle/kinematics"
)

// A file of version 1 had one range and one pose value a joint.
func TestVersionOneStillOpens(t *testing.T) {
	const text = `{
  "pintle": 1,
  "model": {"path": "arm.obj", "sha256": ""},
  "parts": [
    {"name": "base", "pieces": [{"source": "base"}]}, {"name": "arm", "pieces": [{"source": "arm"}]},
    {"name": "rod", "pieces": [{"source": "rod"}]}, {"name": "cap", "pieces": [{"source": "cap"}]}
  ],
  "joints": [
    {"name": "elbow", "kind": "revolute", "parent": "base", "child": "arm", "spec": {"datum": {"point": [0,0,0], "direction": [0,0,1]}},
     "frame": {"origin": [0,0,0], "hinge": [0,0,1], "reach": [1,0,0]}, "limits": {"lower": -90, "upper": 45}, "letters": {"hinge": "Z", "reach": "X"}},
    {"name": "strut", "kind": "prismatic", "parent": "arm", "child": "rod", "spec": {"datum": {"point": [0,0,0], "direction": [0,0,1]}},
     "frame": {"origin": [0,0,0], "hinge": [0,0,1], "reach": [1,0,0]}, "limits": {"lower": 0, "upper": 12.5}, "letters": {"hinge": "Z", "reach": "X"}},
    {"name": "weld", "kind": "fixed", "parent": "arm", "child": "cap", "spec": {"datum": {"point": [0,0,0], "direction": [0,0,1]}},
     "frame": {"origin": [0,0,0], "hinge": [0,0,1], "reach": [1,0,0]}, "limits": {"lower": 0, "upper": 0}, "letters": {"hinge": "Z", "reach": "X"}}
  ],
  "poses": [{"name": "folded", "values": [{"joint": "elbow", "value": 30}, {"joint": "strut", "value": 3}, {"joint": "weld", "value": 1}]}]
}`
	d, err := doc.Decode([]byte(text), "/d")
	if err != nil {
		t.Fatal(err)
	}
	if r, ok := d.Joints[0].Limit(0); !ok || r != (kinematics.Range{Lower: -math.Pi / 2, Upper: math.Pi / 4}) {
		t.Errorf("limits %v", r)
	}
	if r, ok := d.Joints[1].Limit(0); !ok || r != (kinematics.Range{Upper: 12.5}) {
		t.Errorf("limits %v", r)
	}
	if d.Joints[2].Limits != nil {
		t.Errorf("a fixed joint with the limits %v", d.Joints[2].Limits)
	}
	v := d.Poses[0].Values
	if math.Abs(v[0].Values[0]-math.Pi/6) > 1e-15 || v[1].Values[0] != 3 || len(v[2].Values) != 0 {
		t.Errorf("pose %+v", v)
	}
	out, err := doc.Encode(d, "/d")
	if err != nil {
		t.Fatal(err)
	}
	again, err := doc.Decode(out, "/d")
	if err != nil || !again.Equal(d) || !strings.Contains(string(out), `"pintle": 2`) {
		t.Errorf("written again as\n%s\n%v", out, err)
	}
	for _, c := range []struct{ old, new, want string }{
		{`"limits": {"lower": -90, "upper": 45}`, `"limits": {"lower": -90, "uper": 45}`, `unknown field "uper"`},
		{`"limits": {"lower": -90, "upper": 45}`, `"limits": 3`, "cannot be a number"},
		{`"limits": {"lower": -90, "upper": 45}`, `"limits": [{"lower": "far"}]`, "a number was expected"},
		{`"limits": {"lower": -90, "upper": 45}`, `"limits": [{}, {}]`, "2 ranges for a revolute joint: give one for each of its 1 freedoms, or none"},
		{`"value": 30`, `"value": 30, "values": [30]`, `joint "elbow" has both a value and values`},
		{`"value": 30`, `"values": [30, 2]`, `joint "elbow" has 1 values, not 2`},
		{`"value": 30`, `"values": [null]`, `the value of joint "elbow" is not a number`},
		{`"kind": "revolute"`, `"kind": "revolute", "cone": [30]`, "a revolute joint takes no cone"},
		{`"poses"`, `"couplings": [{"follower": {"joint": "elbow"}, "driver": {"joint": "strut"}, "law": "ratio"}], "poses"`, `the coupling of joint "elbow" has no ratio`},
		{`"poses"`, `"couplings": [{"follower": {"joint": "elbow"}, "driver": {"joint": "strut"}, "law": "curve", "curve": [[1]]}], "poses"`, `a point of its curve has 1 numbers: give two`},
		{`"poses"`, `"couplings": [{"follower": {"joint": "elbow"}, "driver": {"joint": "elbow"}, "law": "ratio", "ratio": 1}], "poses"`, `joint "elbow" would follow itself`},
	} {
		if _, err := doc.Decode([]byte(strings.Replace(text, c.old, c.new, 1)), "/d"); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", c.new, err, c.want)
		}
	}
}

// ball is twoParts with a ball joint.
func ball() doc.Document {
	d := twoParts()
	d.Joints[0] = d.Joints[0].WithKind(kinematics.Spherical)
	d.Poses[0].Values[0].Values = []float64{0.1, 0.2, 0.3}
	return d
}

func TestLimitsOfEachFreedom(t *testing.T) {
	d := ball()
	if d.Joints[0].Limits != nil { // a hinge's turn and a ball's first swing do not mean the same
		t.Errorf("the ball took the hinge's limits %v", d.Joints[0].Limits)
	}
	twist := kinematics.Range{Lower: -0.5, Upper: 0.5}
	j := d.Joints[0].WithLimit(2, &twist)
	if _, ok := j.Limit(0); ok {
		t.Error("a swing became limited too")
	}
	if r, ok := j.Limit(2); !ok || r != twist || len(j.Limits) != 3 {
		t.Errorf("limits %v", j.Limits)
	}
	if again := j.WithLimit(2, nil); again.Limits != nil || j.Limits == nil {
		t.Errorf("limits %v are left, %v before", again.Limits, j.Limits)
	}
	if k := j.WithLimit(3, &twist); len(k.Limits) != 3 || k.Limits[2] != twist {
		t.Errorf("a fourth freedom: %v", k.Limits)
	}
	j.Cone = &kinematics.Cone{Max: []float64{0.6}}
	if got := j.Clamp([]float64{3, 0, 2}); got[0] != 0.6 || got[1] != 0 || got[2] != 0.5 {
		t.Errorf("clamped to %v", got)
	}
	d.Joints[0] = j
	out, err := doc.Encode(d, "/d")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(out), `"lower": null`) || !strings.Contains(string(out), `"cone": [34.37`) {
		t.Errorf("written as\n%s", out)
	}
	back, err := doc.Decode(out, "/d")
	if err != nil || !back.Equal(d) || back.Joints[0].Limits[0] != kinematics.Unlimited() {
		t.Errorf("read back as %+v, %v", back.Joints, err)
	}
}

func TestAnotherKindKeepsWhatStillMeansTheSame(t *testing.T) {
	d := twoParts() // a hinge that turns from -1 to 2
	for _, c := range []struct {
		kind   kinematics.Kind
		limits bool
		values int
	}{
		{kinematics.Helical, true, 1},
		{kinematics.Cylindric, true, 1},
		{kinematics.Universal, true, 1},
		{kinematics.Prismatic, false, 1},
		{kinematics.Planar, false, 1},
		{kinematics.Fixed, false, 0},
	} {
		e, err := d.EditJoint("elbow", func(j doc.Joint) doc.Joint { return j.WithKind(c.kind) })
		if err != nil {
			t.Fatalf("%s: %v", c.kind, err)
		}
		if r, ok := e.Joints[0].Limit(0); ok != c.limits || ok && r != d.Joints[0].Limits[0] {
			t.Errorf("%s has the limits %v", c.kind, e.Joints[0].Limits)
		}
		n := 0
		if len(e.Poses[0].Values) > 0 {
			n = len(e.Poses[0].Values[0].Values)
			if got := e.Poses[0].Values[0].Values[0]; (got == 0.5) != c.limits {
				t.Errorf("%s poses at %v", c.kind, got)
			}
		}
		if n != c.values {
			t.Errorf("%s poses with %d values, want %d", c.kind, n, c.values)
		}
	}
	if d.Poses[0].Values[0].Values[0] != 0.5 || d.Joints[0].Kind != kinematics.Revolute {
		t.Error("the document itself changed")
	}
	// A cone stays between kinds that lean, a swing's limits too.
	b := ball().Joints[0]
	swing := kinematics.Range{Lower: -0.4, Upper: 0.4}
	b = b.WithLimit(0, &swing)
	b.Cone = &kinematics.Cone{Max: []float64{0.5}}
	if u := b.WithKind(kinematics.Universal); u.Cone == nil || len(u.Limits) != 2 || u.Limits[0] != swing {
		t.Errorf("universal %+v", u)
	}
	if h := b.WithKind(kinematics.Revolute); h.Cone != nil {
		t.Error("a hinge with a cone")
	}
}
