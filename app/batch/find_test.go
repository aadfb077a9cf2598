package batch_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/batch"
	"pintle/app/doc"
)

func TestFindDemo(t *testing.T) {
	model := filepath.Join("..", "..", "assets", "demo", "heron-leg.obj")
	var v map[string]any
	text := ok(t, batch.ExitDone, "find", model, "--json", "-")
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	if got := keys(v); got != "doubtful file findings fixed ground joints seconds unit" {
		t.Errorf("keys %s", got)
	}
	joints := v["joints"].([]any)
	if len(joints) != 3 {
		t.Fatalf("%d joints, want 3:\n%s", len(joints), text)
	}
	for _, j := range joints {
		j := j.(map[string]any)
		if got := keys(j); got != "axis child closes_loop confidence document_has evidence frame name origin parent pitch runners_up type" {
			t.Errorf("keys of a joint %s", got)
		}
		if j["type"] != "revolute" || len(j["axis"].([]any)) != 3 || len(j["origin"].([]any)) != 3 || j["confidence"].(float64) < 0.5 || j["name"] == "" {
			t.Errorf("joint %v", j)
		}
		if words := j["evidence"].(map[string]any)["words"].(string); !strings.Contains(words, "circle") {
			t.Errorf("evidence %q", words)
		}
		checkFrame(t, j["frame"].(map[string]any))
	}
}

// checkFrame fails unless the frame is right-handed with unit directions.
func checkFrame(t *testing.T, f map[string]any) {
	t.Helper()
	vec := func(name string) r3.Vec {
		v := f[name].([]any)
		return r3.Vec{X: v[0].(float64), Y: v[1].(float64), Z: v[2].(float64)}
	}
	hinge, reach, side := vec("hinge"), vec("reach"), vec("side")
	if d := r3.Norm(r3.Sub(r3.Cross(hinge, reach), side)); d > 1e-9 || math.Abs(r3.Norm(hinge)-1) > 1e-9 || math.Abs(r3.Dot(hinge, reach)) > 1e-9 {
		t.Errorf("frame %v", f)
	}
}

func TestFindWritesADocument(t *testing.T) {
	model := filepath.Join("..", "..", "assets", "demo", "heron-leg.obj")
	path := filepath.Join(t.TempDir(), "leg.pintle")
	var v map[string]any
	text := ok(t, batch.ExitDone, "find", model, "-o", path, "--json", "-")
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	if d := v["document"].(map[string]any); d["made"] != 3.0 || d["file"] != path {
		t.Errorf("document %v", d)
	}
	d, err := doc.Load(path)
	if err != nil || len(d.Joints) != 3 {
		t.Fatalf("%d joints, error %v", len(d.Joints), err)
	}
	// Found again in the document, every joint agrees and none is added.
	text = ok(t, batch.ExitDone, "find", path, "-o", path, "--json", "-")
	v = nil
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	for _, j := range v["joints"].([]any) {
		own, _ := j.(map[string]any)["document_has"].(map[string]any)
		if own == nil || own["agrees"] != true {
			t.Errorf("the document has %v", own)
		}
	}
	again, err := doc.Load(path)
	if err != nil || !again.Equal(d) {
		t.Errorf("the document has changed, error %v", err)
	}
	// With certainty asked for none is made.
	out := ok(t, batch.ExitDone, "find", model, "-o", filepath.Join(t.TempDir(), "none.pintle"), "--least", "1")
	if !strings.Contains(out, "0 joints made, 0 in all") {
		t.Errorf("it says\n%s", out)
	}
}

func TestFindWritesFile(t *testing.T) {
	model := filepath.Join("..", "..", "assets", "demo", "heron-leg.obj")
	path := filepath.Join(t.TempDir(), "found.json")
	if out := ok(t, batch.ExitDone, "find", model, "--json", path); out != "" {
		t.Errorf("printed %q beside the file", out)
	}
	text, err := os.ReadFile(path)
	if err != nil || !json.Valid(text) {
		t.Errorf("%v, %s", err, text)
	}
}

func TestFindText(t *testing.T) {
	model := filepath.Join("..", "..", "assets", "demo", "heron-leg.obj")
	// Everything is doubtful where certainty is asked for, and still listed.
	out := ok(t, batch.ExitDone, "find", model, "--least", "1")
	for _, want := range []string{"thigh", "shank", "foot", "revolute", "confidence"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
}

func TestFindProves(t *testing.T) {
	model := filepath.Join("..", "..", "assets", "demo", "heron-leg.obj")
	var v struct {
		Joints []struct {
			Name   string
			Motion *struct {
				Free      [2]float64
				Blocked   bool
				StoppedBy []struct {
					At       float64
					Part, By string
				} `json:"stopped_by"`
				Words string
			}
		}
	}
	text := ok(t, batch.ExitDone, "find", model, "--prove", "--json", "-")
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	if len(v.Joints) != 3 || !strings.Contains(text, `"stopped_by": [`) {
		t.Fatalf("%d joints:\n%s", len(v.Joints), text)
	}
	out := ok(t, batch.ExitDone, "find", model, "--prove")
	for _, j := range v.Joints {
		m := j.Motion
		if m == nil || m.Blocked || m.Words == "" || !(m.Free[0] < 0 && m.Free[1] > 0 && m.Free[0] >= -15.0000001 && m.Free[1] <= 15.0000001) {
			t.Fatalf("%s: %+v", j.Name, m)
		}
		// What stops it is where the free range ends.
		for _, e := range m.StoppedBy {
			if e.At != m.Free[0] && e.At != m.Free[1] || e.Part == "" || e.By == "" {
				t.Errorf("%s is free over %v and stopped by %+v", j.Name, m.Free, e)
			}
		}
		if !strings.Contains(out, m.Words) {
			t.Errorf("no %q in\n%s", m.Words, out)
		}
	}
	if plain := ok(t, batch.ExitDone, "find", model); strings.Contains(plain, "motion") {
		t.Errorf("unasked it says\n%s", plain)
	}
}

func TestFindBadInput(t *testing.T) {
	model := filepath.Join("..", "..", "assets", "demo", "heron-leg.obj")
	for _, args := range [][]string{
		{"find"},
		{"find", "no-such-file.obj"},
		{"find", model, "--least", "2"},
		{"find", model, "--least", "NaN"},
		{"find", model, "--json", filepath.Join(t.TempDir(), "no", "such", "folder.json")},
	} {
		c := run(t, batch.Deps{}, "", args...)
		if c.Code != batch.ExitBadInput || c.out != "" || strings.Count(c.err, "\n") != 1 {
			t.Errorf("%q: code %d, output %q, error %q", args, c.Code, c.out, c.err)
		}
	}
}
