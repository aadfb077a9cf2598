package batch_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pintle/app/batch"
)

const findKeys = "doubtful file findings fixed ground joints seconds unit"

func TestFindDemo(t *testing.T) {
	model := filepath.Join("..", "..", "assets", "demo", "heron-leg.obj")
	var v map[string]any
	text := ok(t, batch.ExitDone, "find", model, "--json", "-")
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	for k := range v {
		if !strings.Contains(findKeys, k) {
			t.Errorf("unknown key %q", k)
		}
	}
	joints := v["joints"].([]any)
	if len(joints) != 3 {
		t.Fatalf("%d joints, want 3:\n%s", len(joints), text)
	}
	for _, j := range joints {
		j := j.(map[string]any)
		if j["type"] != "revolute" || len(j["axis"].([]any)) != 3 || len(j["origin"].([]any)) != 3 || j["confidence"].(float64) < 0.5 {
			t.Errorf("joint %v", j)
		}
		if words := j["evidence"].(map[string]any)["words"].(string); !strings.Contains(words, "circle") {
			t.Errorf("evidence %q", words)
		}
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
