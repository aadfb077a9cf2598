package doc_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"pintle/app/doc"
	"pintle/app/doc/doctest"
	"pintle/fit/mesh"
)

func TestOpenModelSaveAndOpenAgain(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	path := must[string](t)(doctest.WriteOBJ(dir, doctest.Model(doctest.Options{})))
	var steps []float64
	s := must[*doc.Session](t)(doc.OpenModel(ctx, path, doc.OpenOptions{Progress: func(done float64, _ string) { steps = append(steps, done) }}))
	if s.Model.Unit != mesh.Millimetre || len(s.Parts) != 3 || len(s.Doc.Model.SHA256) != 64 || !slices.IsSorted(steps) || len(steps) == 0 {
		t.Errorf("%s, %d parts, hash %q, progress %v", s.Model.Unit, len(s.Parts), s.Doc.Model.SHA256, steps)
	}
	file := filepath.Join(dir, "swing.pintle")
	if err := doc.Save(file, s.Doc); err != nil {
		t.Fatal(err)
	}
	again := must[*doc.Session](t)(doc.Open(ctx, file, doc.OpenOptions{}))
	if !again.Doc.Equal(s.Doc) || len(again.Opening) != len(s.Opening) {
		t.Errorf("opened again: %+v", again.Opening)
	}
	// The model changes: a finding, and the document opens.
	text := must[[]byte](t)(os.ReadFile(path))
	if err := os.WriteFile(path, append(text, "# second version\n"...), 0o600); err != nil {
		t.Fatal(err)
	}
	changed := must[*doc.Session](t)(doc.Open(ctx, file, doc.OpenOptions{}))
	if len(changed.Opening) == 0 || changed.Opening[0].Kind != doc.ModelChanged || changed.Opening[0].Severity != doc.Check {
		t.Errorf("findings %+v", changed.Opening)
	}
	// The model lies beside the document although the document says elsewhere.
	d := s.Doc
	d.Model.Path = filepath.Join(dir, "old", "swing.obj")
	if err := doc.Save(file, d); err != nil {
		t.Fatal(err)
	}
	if beside, err := doc.Open(ctx, file, doc.OpenOptions{}); err != nil || beside.Doc.Model.Path != path {
		t.Errorf("%v", err)
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	_, err := doc.Open(ctx, file, doc.OpenOptions{})
	want := "swing.pintle: the model swing.obj was not found; looked for " + d.Model.Path + " and " + path + "; put it there or choose the model again"
	if err == nil || err.Error() != want {
		t.Errorf("error %v\nwant  %s", err, want)
	}
}

func TestOpenIsCancelled(t *testing.T) {
	path := must[string](t)(doctest.WriteOBJ(t.TempDir(), doctest.Model(doctest.Options{})))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := doc.OpenModel(ctx, path, doc.OpenOptions{}); err == nil || ctx.Err() == nil {
		t.Error("a cancelled opening succeeded")
	}
	s := swing(t, doctest.Options{})
	j := must[doc.Joint](t)(s.ProposeJoint(hubFace(t, s, doctest.Options{}, doctest.BoreRadius), doc.JointOptions{}))
	if _, _, err := s.Prove(ctx, j, nil); err == nil {
		t.Error("a cancelled proof succeeded")
	}
}
