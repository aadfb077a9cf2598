// Package handover writes what leaves Pintle: the joint spec and the meshes of
// sweep envelopes. Every file is written atomically.
package handover

import (
	"context"
	"fmt"
	"io"
	"path/filepath"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/app/job"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// Safety stands in every file with figures.
const Safety = "For animation and visualisation. Real machines, rides, prosthetics and animatronics need a qualified engineer, local codes and a risk assessment."

// SpecVersion is the version of the joint spec's format; its JSON Schema is
// assets/schema/joint-spec.schema.json. Version 1 had one value a joint.
const SpecVersion = 2

// Spec is a joint spec as it stands in the file: degrees, model units and
// axes.
type Spec struct {
	Format    string         `json:"format"`
	Version   int            `json:"version"`
	Safety    string         `json:"safety"`
	Model     SpecModel      `json:"model"`
	AngleUnit string         `json:"angle_unit"`
	Parts     []SpecPart     `json:"parts"`
	Joints    []SpecJoint    `json:"joints"`
	Couplings []SpecCoupling `json:"couplings"`
	Drivers   []SpecRef      `json:"drivers"` // of closed loops
	Poses     []SpecPose     `json:"poses"`
	Findings  []doc.Finding  `json:"findings"` // about the model; joints have their own
}

// SpecModel says which model file the figures hold for.
type SpecModel struct {
	Path   string    `json:"path"`
	SHA256 string    `json:"sha256"`
	Unit   mesh.Unit `json:"unit"`
	Up     mesh.Up   `json:"up"`
}

// SpecPart says what a part is made of.
type SpecPart struct {
	Name   string      `json:"name"`
	Label  string      `json:"label"`
	Hidden bool        `json:"hidden"`
	Pieces []SpecPiece `json:"pieces"`
}

// SpecPiece is a part of the model file, or one shell of it.
type SpecPiece struct {
	Source string `json:"source"`
	Shell  *int   `json:"shell,omitempty"`
	Fine   bool   `json:"fine,omitempty"`
}

// SpecJoint is one joint.
type SpecJoint struct {
	Name      string          `json:"name"`
	Type      kinematics.Kind `json:"type"`
	Parent    *string         `json:"parent"` // nil: the world
	Child     string          `json:"child"`
	Origin    wire.Vec        `json:"origin"`
	Axis      wire.Vec        `json:"axis"`
	Reach     wire.Vec        `json:"reach"`
	Letters   SpecLetters     `json:"letters"`
	Frame     [4]float64      `json:"frame"` // quaternion x, y, z, w after letters
	Pitch     *float64        `json:"pitch,omitempty"`
	Freedoms  []SpecFreedom   `json:"freedoms"`
	Cone      []wire.Deg      `json:"cone,omitempty"`
	Closes    bool            `json:"closes"` // a loop: another joint carries the child
	FreeRange *SpecRange      `json:"free_range"`
	Datum     *wire.Datum     `json:"datum"`
	Accepted  bool            `json:"accepted"`
	Findings  []doc.Finding   `json:"findings"`
}

// SpecLetters says which local axes lie along the frame's three roles.
type SpecLetters struct {
	Hinge kinematics.Letter `json:"hinge"`
	Reach kinematics.Letter `json:"reach"`
	Side  kinematics.Letter `json:"side"`
}

// SpecRange is a range in degrees or model units; an end that does not exist
// is NaN.
type SpecRange struct {
	Lower wire.Num `json:"lower"`
	Upper wire.Num `json:"upper"`
}

// SpecPose is a named pose.
type SpecPose struct {
	Name   string      `json:"name"`
	Values []SpecValue `json:"values"`
}

// SpecValue is where a joint stands in a pose: a value for each of its freedoms.
type SpecValue struct {
	Joint  string    `json:"joint"`
	Values []float64 `json:"values"`
}

// Worst returns the highest severity among all findings.
func (s Spec) Worst() doc.Severity {
	all := append([]doc.Finding(nil), s.Findings...)
	for _, j := range s.Joints {
		all = append(all, j.Findings...)
	}
	return doc.Worst(all)
}

// NewSpec returns the joint spec of a document, for a file in the folder dir.
// It computes the motion of every hinge, so that the findings are complete. It
// fails when ctx is done; what is wrong with a joint is a finding, not a
// failure.
func NewSpec(ctx context.Context, s *doc.Session, dir string, progress job.Progress) (Spec, error) {
	d := s.Doc
	names := PartNames(d)
	spec := Spec{
		Format: "pintle-joint-spec", Version: SpecVersion, Safety: Safety, AngleUnit: "degree",
		Model: SpecModel{Path: relative(d.Model.Path, dir), SHA256: d.Model.SHA256, Unit: s.Model.Unit, Up: s.Model.Up},
		Parts: make([]SpecPart, len(d.Parts)), Joints: make([]SpecJoint, len(d.Joints)),
		Couplings: newCouplings(d), Drivers: newDrivers(d), Poses: make([]SpecPose, len(d.Poses)), Findings: append(append([]doc.Finding{}, s.Opening...), s.Sought...),
	}
	for i, p := range d.Parts {
		spec.Parts[i] = SpecPart{Name: names[p.Name], Label: p.Name, Hidden: p.Hidden, Pieces: pieces(p)}
	}
	for i, j := range d.Joints {
		stage := job.Stage(progress, float64(i)/float64(len(d.Joints)), float64(i+1)/float64(len(d.Joints)))
		var err error
		if spec.Joints[i], err = newJoint(ctx, s, j, names, stage); err != nil {
			return Spec{}, fmt.Errorf("joint %q: %w", j.Name, err)
		}
	}
	for i, p := range d.Poses {
		var err error
		if spec.Poses[i], err = newPose(s, p); err != nil {
			return Spec{}, fmt.Errorf("pose %q: %w", p.Name, err)
		}
	}
	return spec, nil
}

func pieces(p doc.Part) []SpecPiece {
	out := make([]SpecPiece, len(p.Pieces))
	for i, piece := range p.Pieces {
		out[i].Source, out[i].Fine = piece.Source, piece.Fine
		if piece.Shell != doc.Whole {
			shell := piece.Shell
			out[i].Shell = &shell
		}
	}
	return out
}

func newJoint(ctx context.Context, s *doc.Session, j doc.Joint, names map[string]string, progress job.Progress) (SpecJoint, error) {
	pose, err := j.Letters.Pose(j.Frame)
	if err != nil {
		return SpecJoint{}, err
	}
	out := SpecJoint{
		Name: j.Name, Type: j.Kind, Child: names[j.Child],
		Origin: wire.Vec(j.Frame.Origin), Axis: wire.Vec(j.Frame.Hinge), Reach: wire.Vec(j.Frame.Reach),
		Letters: SpecLetters{Hinge: j.Letters.Hinge, Reach: j.Letters.Reach, Side: j.Letters.Side()},
		Frame:   pose.Quaternion(), Accepted: j.Accepted, Closes: j.Closes,
	}
	if j.Parent != "" {
		parent := names[j.Parent]
		out.Parent = &parent
	}
	if j.Kind == kinematics.Helical {
		turn := kinematics.Radians(360) * j.Pitch
		out.Pitch = &turn
	}
	out.Freedoms, out.Cone = newFreedoms(j), doc.ConeToFile(j.Cone)
	if j.Datum.Kind != "" {
		w := wire.NewDatum(j.Datum)
		out.Datum = &w
	}
	found, motion, err := s.Prove(ctx, j, progress)
	if err != nil {
		return SpecJoint{}, err
	}
	out.Findings = append([]doc.Finding{}, found...)
	if motion != nil {
		r := motion.FreeRange() // an infinite end is null
		f := motion.Freedom()
		out.FreeRange = &SpecRange{Lower: wire.Num(value(f, r.Lower)), Upper: wire.Num(value(f, r.Upper))}
	}
	return out, nil
}

// PartNames returns what the document's parts are called in a handover: the
// name in the model file where a part is one whole part of it, so that the
// receiver finds it there; else the document's own. Names stay unique.
func PartNames(d doc.Document) map[string]string {
	out := make(map[string]string, len(d.Parts))
	taken := map[string]bool{}
	for _, p := range d.Parts {
		if len(p.Pieces) == 1 && p.Pieces[0].Shell == doc.Whole {
			out[p.Name] = p.Pieces[0].Source
			taken[p.Pieces[0].Source] = true
		}
	}
	for _, p := range d.Parts {
		if _, ok := out[p.Name]; ok {
			continue
		}
		name := p.Name
		for n := 2; taken[name]; n++ {
			name = fmt.Sprintf("%s %d", p.Name, n)
		}
		out[p.Name] = name
		taken[name] = true
	}
	return out
}

func relative(path, dir string) string {
	rel, err := filepath.Rel(dir, path)
	if err != nil {
		rel = path // another drive
	}
	return filepath.ToSlash(rel)
}

// WriteSpec writes the joint spec of a document to path, atomically, and
// returns it.
func WriteSpec(ctx context.Context, path string, s *doc.Session, progress job.Progress) (Spec, error) {
	dir, err := filepath.Abs(filepath.Dir(path))
	if err != nil {
		return Spec{}, fmt.Errorf("writing %s: %w", path, err)
	}
	spec, err := NewSpec(ctx, s, dir, progress)
	if err != nil {
		return Spec{}, err
	}
	data, err := wire.Marshal(spec)
	if err != nil {
		return Spec{}, fmt.Errorf("writing %s: %w", path, err)
	}
	return spec, doc.WriteAtomic(path, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}
