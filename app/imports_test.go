package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// layer says what the packages below a path may import besides the standard
// library, and why.
type layer struct {
	path  string
	allow []string
	why   string
}

// The first layer whose path is a prefix of the package rules it.
var layers = []layer{
	{"pintle/fit/meshio", []string{"pintle/fit/mesh", "gonum.org/", "github.com/qmuntal/gltf", "github.com/hschendel/stl"}, "third-party decoders and hostile bytes stay out of the numeric packages"},
	{"pintle/fit/mesh", []string{"pintle/fit/mesh", "gonum.org/"}, "everyone reads meshes, so they need nobody"},
	{"pintle/fit", []string{"pintle/fit", "gonum.org/"}, "fitting returns candidates, never joints"},
	{"pintle/kinematics", []string{"pintle/kinematics", "pintle/fit", "gonum.org/"}, "motion is proven without a window or a document"},
	{"pintle/viewport/draft", []string{"pintle/viewport/draft", "pintle/kinematics", "pintle/fit/mesh", "gonum.org/"}, "drawing is arithmetic: no GL, no window"},
	{"pintle/viewport/offscreen", []string{"pintle/viewport/draft", "pintle/viewport/offscreen", "pintle/kinematics", "pintle/fit/mesh", "gonum.org/", "github.com/g3n/engine", "github.com/go-gl/", "golang.org/x/image"}, "the only owner of the GL thread; knows no toolkit"},
	{"pintle/viewport", []string{"pintle/viewport", "pintle/kinematics", "pintle/fit/mesh", "gonum.org/", "fyne.io/"}, "draws and picks, knows no document"},
	{"pintle/app/ui", []string{"pintle/", "gonum.org/", "fyne.io/", "golang.org/x/image"}, "the Fyne shell"},
	{"pintle/app/", []string{"pintle/fit", "pintle/kinematics", "pintle/viewport/draft", "pintle/app/doc", "pintle/app/job", "pintle/app/handover", "pintle/app/drawing", "pintle/app/batch", "pintle/assets", "gonum.org/", "github.com/qmuntal/gltf", "github.com/alecthomas/kong", "github.com/google/renameio", "github.com/santhosh-tekuri/jsonschema"}, "batch mode and tests run without a display"},
	{"pintle/assets", []string{"pintle/assets"}, "demos and schemas are data"},
	{"pintle/app", []string{"pintle/", "fyne.io/"}, "main wires everything"},
}

type listed struct {
	ImportPath string
	Imports    []string
}

func listPackages(t *testing.T) []listed {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports", "pintle/...")
	out, err := cmd.Output()
	if err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			t.Fatalf("go list: %v\n%s", err, exit.Stderr)
		}
		t.Fatalf("go list: %v", err)
	}
	var all []listed
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatalf("reading go list's answer: %v", err)
		}
		all = append(all, p)
	}
}

func layerOf(pkg string) (layer, bool) {
	for _, l := range layers {
		if strings.HasPrefix(pkg, l.path) {
			return l, true
		}
	}
	return layer{}, false
}

func allowed(l layer, path string) bool {
	std := !strings.Contains(strings.SplitN(path, "/", 2)[0], ".") && !strings.HasPrefix(path, "pintle/")
	if std {
		return true
	}
	for _, a := range l.allow {
		if strings.HasPrefix(path, a) {
			return true
		}
	}
	return false
}

func TestImportsKeepToTheirLayer(t *testing.T) {
	seen := 0
	for _, p := range listPackages(t) {
		l, ok := layerOf(p.ImportPath)
		if !ok {
			t.Errorf("%s stands in no layer: add it to the table", p.ImportPath)
			continue
		}
		for _, path := range p.Imports {
			seen++
			if !allowed(l, path) {
				t.Errorf("%s imports %s, but %s", p.ImportPath, path, l.why)
			}
		}
	}
	if seen == 0 {
		t.Fatal("go list named no imports")
	}
}

func TestLayerTableRefusesWhatItShould(t *testing.T) {
	for _, c := range []struct{ pkg, path string }{
		{"pintle/fit/mesh", "pintle/fit"},
		{"pintle/fit", "pintle/kinematics"},
		{"pintle/kinematics/contact", "pintle/viewport"},
		{"pintle/viewport/draft", "fyne.io/fyne/v2"},
		{"pintle/app/doc", "fyne.io/fyne/v2"},
		{"pintle/app/batch", "pintle/viewport/offscreen"},
		{"pintle/assets", "gonum.org/v1/gonum/mat"},
	} {
		l, ok := layerOf(c.pkg)
		if !ok || allowed(l, c.path) {
			t.Errorf("%s may import %s by the table; it must not", c.pkg, c.path)
		}
	}
}
