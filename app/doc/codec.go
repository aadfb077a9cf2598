package doc

import (
	"errors"
	"fmt"
	"path/filepath"

	"pintle/app/doc/wire"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// FormatVersion is the version of the document format that this program
// writes. It reads the earlier ones too: version 1 had one limit and one pose
// value a joint and no couplings.
const FormatVersion = 2

// maxFile bounds a document file: a pick of a million triangles takes 8 MB.
const maxFile = 64 << 20

type fileForm struct {
	Version int         `json:"pintle"`
	Model   modelForm   `json:"model"`
	Parts   []partForm  `json:"parts"`
	Joints  []jointForm `json:"joints"`
	Poses   []poseForm  `json:"poses"`

	Couplings []couplingForm `json:"couplings,omitempty"`
	Drivers   []refForm      `json:"drivers,omitempty"`
}

type modelForm struct {
	Path   string    `json:"path"`
	SHA256 string    `json:"sha256"`
	Unit   mesh.Unit `json:"unit,omitempty"`
	Up     mesh.Up   `json:"up,omitempty"`
}

type partForm struct {
	Name   string      `json:"name"`
	Hidden bool        `json:"hidden,omitempty"`
	Pieces []pieceForm `json:"pieces"`
}

type pieceForm struct {
	Source string `json:"source"`
	Shell  *int   `json:"shell,omitempty"`
	Fine   bool   `json:"fine,omitempty"`
}

type pickForm struct {
	Source    string     `json:"source"`
	Vertices  []int32    `json:"vertices,omitempty"`
	Edges     [][2]int32 `json:"edges,omitempty"`
	Loops     []loopForm `json:"loops,omitempty"`
	Triangles []int32    `json:"triangles,omitempty"`
}

type loopForm struct {
	Vertices []int32 `json:"vertices"`
	Closed   bool    `json:"closed,omitempty"`
}

type recipeForm struct {
	Method Method   `json:"method"`
	Shape  fit.Kind `json:"shape,omitempty"`
	Robust bool     `json:"robust,omitempty"`
}

type jointForm struct {
	Name     string               `json:"name"`
	Kind     kinematics.Kind      `json:"kind"`
	Parent   string               `json:"parent,omitempty"`
	Child    string               `json:"child"`
	Pitch    float64              `json:"pitch,omitempty"`
	Picks    []pickForm           `json:"picks,omitempty"`
	Recipe   *recipeForm          `json:"recipe,omitempty"`
	Datum    *wire.Datum          `json:"datum,omitempty"`
	Spec     kinematics.FrameSpec `json:"spec"`
	Frame    wire.Frame           `json:"frame"`
	Limits   limitsForm           `json:"limits,omitempty"`
	Cone     []wire.Deg           `json:"cone,omitempty"`
	Letters  kinematics.Letters   `json:"letters"`
	Accepted bool                 `json:"accepted,omitempty"`
	Closes   bool                 `json:"closes,omitempty"`
}

// Encode returns the document as the content of a *.pintle file in the folder
// dir, which the model's path is made relative to. It fails where the document
// contradicts itself: what cannot be read back is not written.
func Encode(d Document, dir string) ([]byte, error) {
	if err := d.Validate(); err != nil {
		return nil, err
	}
	return marshal(d, dir)
}

func marshal(d Document, dir string) ([]byte, error) {
	f := fileForm{
		Version: FormatVersion,
		Model: modelForm{
			Path: relative(d.Model.Path, dir), SHA256: d.Model.SHA256,
			Unit: d.Model.Unit, Up: d.Model.Up,
		},
		Parts:  make([]partForm, len(d.Parts)),
		Joints: make([]jointForm, len(d.Joints)),
		Poses:  make([]poseForm, len(d.Poses)),
	}
	for i, p := range d.Parts {
		f.Parts[i] = partForm{Name: p.Name, Hidden: p.Hidden, Pieces: make([]pieceForm, len(p.Pieces))}
		for k, piece := range p.Pieces {
			f.Parts[i].Pieces[k].Source, f.Parts[i].Pieces[k].Fine = piece.Source, piece.Fine
			if piece.Shell != Whole {
				f.Parts[i].Pieces[k].Shell = &p.Pieces[k].Shell
			}
		}
	}
	for i, j := range d.Joints {
		f.Joints[i] = jointToForm(j)
	}
	kinds := d.kinds()
	for i, p := range d.Poses {
		f.Poses[i] = newPoseForm(p, kinds)
	}
	for _, c := range d.Couplings {
		f.Couplings = append(f.Couplings, newCouplingForm(c, kinds))
	}
	for _, v := range d.Drivers {
		f.Drivers = append(f.Drivers, refForm(v))
	}
	return wire.Marshal(f)
}

func jointToForm(j Joint) jointForm {
	f := jointForm{
		Name: j.Name, Kind: j.Kind, Parent: j.Parent, Child: j.Child, Pitch: j.Pitch,
		Spec: j.Spec, Frame: wire.NewFrame(j.Frame), Letters: j.Letters, Accepted: j.Accepted, Closes: j.Closes,
	}
	for _, p := range j.Picks {
		f.Picks = append(f.Picks, pickForm{Source: p.Source, Vertices: p.Vertices, Edges: p.Edges, Triangles: p.Triangles})
		for _, l := range p.Loops {
			k := len(f.Picks) - 1
			f.Picks[k].Loops = append(f.Picks[k].Loops, loopForm(l))
		}
	}
	if j.Recipe != (DatumRecipe{}) {
		r := recipeForm(j.Recipe)
		f.Recipe = &r
	}
	if j.Datum.Kind != "" {
		w := wire.NewDatum(j.Datum)
		f.Datum = &w
	}
	f.Limits, f.Cone = newLimitsForm(j), ConeToFile(j.Cone)
	return f
}

// Decode reads the content of a *.pintle file that lies in the folder dir. It
// accepts only what Encode writes, or wrote in an earlier version: the error
// names what is wrong in one sentence.
func Decode(data []byte, dir string) (Document, error) {
	if len(data) > maxFile {
		return Document{}, fmt.Errorf("the document has more than %d MB", maxFile>>20)
	}
	if err := checkVersion(data); err != nil {
		return Document{}, err
	}
	var f fileForm
	if err := wire.Unmarshal(data, &f); err != nil {
		return Document{}, err
	}
	d, err := f.document(dir)
	if err != nil {
		return Document{}, err
	}
	if err := d.Validate(); err != nil {
		return Document{}, err
	}
	return d, nil
}

// checkVersion comes before strict reading, which would trip over the first
// thing that another version has more.
func checkVersion(data []byte) error {
	version, err := wire.Version(data, "pintle")
	switch {
	case errors.Is(err, wire.ErrNoVersion):
		return errors.New(`this is not a Pintle document: it has no "pintle" version`)
	case err != nil:
		return err
	case version > FormatVersion:
		return fmt.Errorf("the document has version %d, this program reads versions up to %d: open it with a newer Pintle", version, FormatVersion)
	case version < 1:
		return fmt.Errorf("the document has version %d, but there is no such version", version)
	}
	return nil
}

func (f fileForm) document(dir string) (Document, error) {
	d := Document{Model: ModelRef{
		Path: absolute(f.Model.Path, dir), SHA256: f.Model.SHA256,
		Unit: f.Model.Unit, Up: f.Model.Up,
	}}
	for _, p := range f.Parts {
		part := Part{Name: p.Name, Hidden: p.Hidden}
		for _, piece := range p.Pieces {
			shell := Whole
			if piece.Shell != nil {
				shell = *piece.Shell
				if shell < 0 {
					return d, fmt.Errorf("part %q: shell %d: shells count from 0", p.Name, shell)
				}
			}
			part.Pieces = append(part.Pieces, Piece{Source: piece.Source, Shell: shell, Fine: piece.Fine})
		}
		d.Parts = append(d.Parts, part)
	}
	for _, j := range f.Joints {
		joint, err := j.joint()
		if err != nil {
			return d, fmt.Errorf("joint %q: %w", j.Name, err)
		}
		d.Joints = append(d.Joints, joint)
	}
	kinds := d.kinds()
	for _, p := range f.Poses {
		pose, err := p.pose(kinds)
		if err != nil {
			return d, err
		}
		d.Poses = append(d.Poses, pose)
	}
	for _, c := range f.Couplings {
		coupling, err := c.coupling(kinds)
		if err != nil {
			return d, err
		}
		d.Couplings = append(d.Couplings, coupling)
	}
	for _, v := range f.Drivers {
		d.Drivers = append(d.Drivers, ValueRef(v))
	}
	return d, nil
}

func (f jointForm) joint() (Joint, error) {
	j := Joint{
		Name: f.Name, Kind: f.Kind, Parent: f.Parent, Child: f.Child, Pitch: f.Pitch,
		Spec: f.Spec, Letters: f.Letters, Accepted: f.Accepted, Closes: f.Closes,
	}
	for _, p := range f.Picks {
		pick := Pick{Source: p.Source, Elements: Elements{Vertices: p.Vertices, Edges: p.Edges, Triangles: p.Triangles}}
		for _, l := range p.Loops {
			pick.Loops = append(pick.Loops, Loop(l))
		}
		j.Picks = append(j.Picks, pick)
	}
	if f.Recipe != nil {
		j.Recipe = DatumRecipe(*f.Recipe)
	}
	var err error
	if f.Datum != nil {
		if j.Datum, err = f.Datum.Datum(); err != nil {
			return j, err
		}
	}
	if j.Frame, err = f.Frame.Frame(); err != nil {
		return j, err
	}
	j.Limits, j.Cone = f.Limits.ranges(f.Kind), coneOf(f.Cone)
	return j, nil
}

// kinds returns the kind of each joint by name.
func (d Document) kinds() map[string]kinematics.Kind {
	kinds := make(map[string]kinematics.Kind, len(d.Joints))
	for _, j := range d.Joints {
		kinds[j.Name] = j.Kind
	}
	return kinds
}

// relative returns the slash-separated path from dir to path, or path itself
// where there is no way (another drive) or no dir.
func relative(path, dir string) string {
	if dir == "" || path == "" || !filepath.IsAbs(path) {
		return filepath.ToSlash(path)
	}
	rel, err := filepath.Rel(dir, path)
	if err != nil {
		return filepath.ToSlash(path)
	}
	return filepath.ToSlash(rel)
}

func absolute(path, dir string) string {
	path = filepath.FromSlash(path)
	if dir == "" || path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(dir, path)
}
