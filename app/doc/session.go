package doc

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/job"
	"pintle/fit/mesh"
	"pintle/fit/meshio"
	"pintle/kinematics"
)

// Session is a document tied to its model. Like the document it is a value
// that is never modified: With returns another one for the next state, which
// shares the meshes.
type Session struct {
	Doc   Document
	Model *mesh.Model
	// Parts are the document's parts with their meshes, in the document's order.
	// A part that is one whole part of the model has that part's own mesh.
	Parts []mesh.Part
	// Opening holds what was found while the model was opened: what its reader
	// mended, a file that is not the one the document was made for.
	Opening []Finding
	// Sought holds what was found wanting when joints were last looked for; see
	// Noting.
	Sought []Finding

	sources *sources
	built   []builtPart
	riders  func() []int // made at the first call
	// linkages is made at the first call, like riders.
	linkages func() (*Linkages, error)
}

// OpenOptions steer OpenModel and Open.
type OpenOptions struct {
	Unit     mesh.Unit // override, for OpenModel
	Up       mesh.Up   // override, for OpenModel
	Limits   meshio.Limits
	Progress job.Progress
}

// OpenModel reads a model file, or a folder with one part a file, and starts a
// document about it.
func OpenModel(ctx context.Context, path string, o OpenOptions) (*Session, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	m, hash, err := readModel(ctx, path, o)
	if err != nil {
		return nil, err
	}
	ref := ModelRef{Path: path, SHA256: hash, Unit: m.Unit, Up: m.Up}
	s, err := newSession(New(ref, m), m, nil)
	if err != nil {
		return nil, err
	}
	return s, s.prepareRiders(ctx, job.Stage(o.Progress, 0.95, 1))
}

// Open reads the document at path and the model it is about. The model is
// looked for where the document says and then beside the document. A model
// that has changed since opens with a finding.
func Open(ctx context.Context, path string, o OpenOptions) (*Session, error) {
	d, err := Load(path)
	if err != nil {
		return nil, err
	}
	beside, err := filepath.Abs(filepath.Dir(path))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	s, err := OpenDocument(ctx, d, beside, o)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", filepath.Base(path), err)
	}
	return s, nil
}

// OpenDocument reads the model of a document that is in memory already, such
// as a recovered one. beside is a second folder to look for the model in, or "".
func OpenDocument(ctx context.Context, d Document, beside string, o OpenOptions) (*Session, error) {
	at, err := findModel(d.Model.Path, beside)
	if err != nil {
		return nil, err
	}
	o.Unit, o.Up = d.Model.Unit, d.Model.Up
	m, hash, err := readModel(ctx, at, o)
	if err != nil {
		return nil, err
	}
	var found []Finding
	if d.Model.SHA256 != "" && hash != d.Model.SHA256 {
		found = append(found, Finding{
			Severity: Check, Kind: ModelChanged,
			Text: fmt.Sprintf("%s is not the file this document was made for (its SHA-256 differs): look at every joint again", filepath.Base(at)),
		})
	}
	d.Model.Path = at
	s, err := newSession(d, m, found)
	if err != nil {
		return nil, err
	}
	return s, s.prepareRiders(ctx, job.Stage(o.Progress, 0.95, 1))
}

// findModel returns the path of the model, or an error that lists where it was
// looked for.
func findModel(path, beside string) (string, error) {
	if path == "" {
		return "", errors.New("the document names no model; choose the model again")
	}
	places := []string{path}
	if beside != "" {
		if near := filepath.Join(beside, filepath.Base(path)); near != path {
			places = append(places, near)
		}
	}
	for _, p := range places {
		if _, err := os.Stat(p); !errors.Is(err, fs.ErrNotExist) {
			return p, nil
		}
	}
	return "", fmt.Errorf("the model %s was not found; looked for %s; put it there or choose the model again",
		filepath.Base(path), strings.Join(places, " and "))
}

// readModel reads a model and its hash.
func readModel(ctx context.Context, path string, o OpenOptions) (*mesh.Model, string, error) {
	m, err := readMeshes(ctx, path, meshio.Options{
		Unit: o.Unit, Up: o.Up, Limits: o.Limits, Progress: job.Stage(o.Progress, 0, 0.95),
	})
	if err != nil {
		return nil, "", err
	}
	if len(m.Parts) == 0 {
		return nil, "", fmt.Errorf("%s: the model has no parts with faces; export the model again", filepath.Base(path))
	}
	if o.Progress != nil {
		o.Progress(0.95, "Taking the model's fingerprint")
	}
	hash, err := hashModel(ctx, path)
	if err != nil {
		return nil, "", fmt.Errorf("%s: %w", filepath.Base(path), err)
	}
	return m, hash, nil
}

// NewSession ties a document to a model that is loaded already.
func NewSession(d Document, m *mesh.Model) (*Session, error) { return newSession(d, m, nil) }

func newSession(d Document, m *mesh.Model, opening []Finding) (*Session, error) {
	for _, n := range m.Notes {
		opening = append(opening, Finding{Severity: Note, Kind: ModelMended, Text: n})
	}
	s := &Session{Model: m, Opening: opening, sources: newSources(m)}
	return s.With(d)
}

// With returns the session for another state of the document. Meshes of parts
// that are made of the same pieces are shared. It fails where the document
// names pieces that the model does not have.
func (s *Session) With(d Document) (*Session, error) {
	if err := d.Validate(); err != nil {
		return nil, err
	}
	n := &Session{
		Doc: d, Model: named(s.Model, d.Model), Opening: s.Opening, Sought: s.Sought, sources: s.sources,
		Parts: make([]mesh.Part, len(d.Parts)), built: make([]builtPart, len(d.Parts)),
	}
	for i, p := range d.Parts {
		b, ok := s.reuse(p.Pieces)
		if !ok {
			var err error
			if b, err = s.sources.build(p.Pieces); err != nil {
				return nil, fmt.Errorf("part %q: %w", p.Name, err)
			}
		}
		n.built[i] = b
		n.Parts[i] = mesh.Part{Name: p.Name, Mesh: b.mesh}
	}
	n.riders = sync.OnceValue(n.findRiders)
	n.linkages = sync.OnceValues(n.buildLinkages)
	return n, nil
}

// Noting returns the session with other findings of a look for joints.
func (s *Session) Noting(found []Finding) *Session {
	n := *s
	n.Sought = found
	return &n
}

// named returns the model with the unit and the up axis that the document
// gives it. They say what its numbers mean and change none of them.
func named(m *mesh.Model, ref ModelRef) *mesh.Model {
	unit, up := m.Unit, m.Up
	if ref.Unit != "" {
		unit = ref.Unit
	}
	if ref.Up != "" {
		up = ref.Up
	}
	if unit == m.Unit && up == m.Up {
		return m
	}
	other := *m
	other.Unit, other.Up = unit, up
	return &other
}

func (s *Session) reuse(pieces []Piece) (builtPart, bool) {
	i := slices.IndexFunc(s.built, func(b builtPart) bool { return slices.Equal(b.pieces, pieces) })
	if i < 0 {
		return builtPart{}, false
	}
	return s.built[i], true
}

// Shells returns how many shells a part has.
func (s *Session) Shells(part string) (int, error) {
	i, err := s.Doc.mustPart(part)
	if err != nil {
		return 0, err
	}
	pieces, err := s.shellsOf(i)
	return len(pieces), err
}

// SplitPart returns the document with a part split into its shells. The shell
// with most triangles keeps the part's name and joints, the others are
// numbered in the order of the file.
func (s *Session) SplitPart(part string) (Document, error) {
	i, err := s.Doc.mustPart(part)
	if err != nil {
		return s.Doc, err
	}
	pieces, err := s.shellsOf(i)
	if err != nil {
		return s.Doc, err
	}
	if len(pieces) < 2 {
		return s.Doc, fmt.Errorf("part %q is one shell: there is nothing to split", part)
	}
	biggest := 0
	size := func(p Piece) int { return len(s.sources.shell(p).mesh.Triangles()) }
	for k, p := range pieces {
		if size(p) > size(pieces[biggest]) {
			biggest = k
		}
	}
	parts := [][]Piece{{pieces[biggest]}}
	for k, p := range pieces {
		if k != biggest {
			parts = append(parts, []Piece{p})
		}
	}
	return s.Doc.splitPart(part, parts)
}

// shellsOf returns the part's shells as pieces, in the order of the file.
func (s *Session) shellsOf(part int) ([]Piece, error) {
	var out []Piece
	for _, p := range s.Doc.Parts[part].Pieces {
		src, err := s.sources.find(p.Source)
		if err != nil {
			return nil, err
		}
		if p.Shell != Whole || len(src.shells()) == 1 {
			out = append(out, p)
			continue
		}
		for k := range src.shells() {
			out = append(out, Piece{Source: p.Source, Shell: k})
		}
	}
	return out, nil
}

// Tree returns the joints as a kinematic tree over the document's parts, in the
// document's order. Behind them stand fixed joints that carry the riders. A
// joint that closes a loop carries a part of the tree's own, behind the
// document's, which is to stand where the joint's child does: see Linkages.
func (s *Session) Tree() (*kinematics.Tree, error) {
	joints := make([]kinematics.Joint, len(s.Doc.Joints))
	parts := len(s.Doc.Parts)
	for i, j := range s.Doc.Joints {
		joints[i] = s.Doc.kinematic(j)
		if j.Closes {
			joints[i].Child = parts
			parts++
		}
	}
	for part, host := range s.Riders() {
		if host >= 0 {
			joints = append(joints, kinematics.Joint{
				Name: "ride:" + s.Parts[part].Name, Kind: kinematics.Fixed, Parent: host, Child: part,
				Frame: kinematics.Frame{Hinge: r3.Vec{Z: 1}, Reach: r3.Vec{X: 1}},
			})
		}
	}
	return kinematics.NewTree(parts, joints)
}

// kinematic returns the joint with part numbers for names.
func (d Document) kinematic(j Joint) kinematics.Joint {
	return kinematics.Joint{
		Name: j.Name, Kind: j.Kind, Parent: d.PartIndex(j.Parent), Child: d.PartIndex(j.Child),
		Frame: j.Frame, Limits: j.Limits, Cone: j.Cone, Pitch: j.Pitch,
	}
}

// PoseValues returns the tree's joint values for a pose: zeros where it says
// nothing, followers set by their drivers.
func (s *Session) PoseValues(t *kinematics.Tree, p Pose) ([]float64, error) {
	joints := make(map[string][]float64, len(p.Values))
	for _, v := range p.Values {
		if t.Find(v.Joint) < 0 {
			return nil, fmt.Errorf("pose %q: there is no joint %q", p.Name, v.Joint)
		}
		joints[v.Joint] = v.Values
	}
	return s.Values(t, joints)
}

// RebuildFrames returns the document with every joint's frame built from its
// recipe: after a joint was added, moved or fitted anew, others may point
// elsewhere.
func (s *Session) RebuildFrames() (Document, error) {
	recipes := make([]kinematics.Recipe, len(s.Doc.Joints))
	for i, j := range s.Doc.Joints {
		recipes[i] = kinematics.Recipe{Joint: j.Name, Spec: j.Spec, Around: s.surroundings(j)}
	}
	frames, err := kinematics.BuildAll(recipes)
	if err != nil {
		return s.Doc, err
	}
	d := s.Doc
	d.Joints = slices.Clone(d.Joints)
	for i := range frames {
		d.Joints[i].Frame = frames[i]
	}
	return d, nil
}

// surroundings returns what a joint's frame recipe may look at.
func (s *Session) surroundings(j Joint) kinematics.Surroundings {
	var around kinematics.Surroundings
	for _, k := range s.Doc.Joints {
		if k.Parent == j.Child && k.Name != j.Name {
			if p, err := k.Spec.Origin(); err == nil {
				around.Next = append(around.Next, p)
			}
		}
	}
	if i := s.Doc.PartIndex(j.Child); i >= 0 {
		if c, ok := centroid(s.Parts[i].Mesh); ok {
			around.Centroid = &c
		}
	}
	return around
}

// centroid returns the centroid of the mesh's surface.
func centroid(m *mesh.Mesh) (r3.Vec, bool) {
	b := m.Bounds()
	origin := r3.Scale(0.5, r3.Add(b.Min, b.Max))
	var sum r3.Vec
	area := 0.0
	for t := range m.Triangles() {
		p, q, r := m.Corners(t)
		w := r3.Norm(m.AreaNormal(t))
		mid := r3.Scale(1.0/3, r3.Add(r3.Add(r3.Sub(p, origin), r3.Sub(q, origin)), r3.Sub(r, origin)))
		sum = r3.Add(sum, r3.Scale(w, mid))
		area += w
	}
	if !(area > 0) {
		return r3.Vec{}, false
	}
	return r3.Add(origin, r3.Scale(1/area, sum)), true
}
