package batch

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/fit/meshio"
)

// modelFlags say how a model's numbers are meant.
type modelFlags struct {
	Unit string `help:"What one unit of the model file means: mm, cm, m or in; otherwise as the file says." enum:",mm,cm,m,in" default:"" placeholder:"UNIT"`
	Up   string `help:"The model file's up axis: Y or Z; otherwise as the file says." enum:",Y,Z,y,z" default:"" placeholder:"AXIS"`
}

func (f modelFlags) options() doc.OpenOptions {
	return doc.OpenOptions{Unit: mesh.Unit(f.Unit), Up: mesh.Up(strings.ToUpper(f.Up))}
}

// isDocument reports whether a file name is that of a document.
func isDocument(path string) bool { return strings.EqualFold(filepath.Ext(path), doc.Extension) }

// open opens a document, or a model as a new document.
func (r *run) open(path string, f modelFlags) (*doc.Session, error) {
	if isDocument(path) {
		if f != (modelFlags{}) {
			return nil, usageError{fmt.Errorf("%s: the document says what its model's unit and up axis are; leave --unit and --up out", filepath.Base(path))}
		}
		return doc.Open(r.ctx, path, f.options())
	}
	return doc.OpenModel(r.ctx, path, f.options())
}

type fitCommand struct {
	File   string `arg:"" help:"A model (glTF, GLB, OBJ, STL, PLY), a document, or a text file of rows x y z; - reads rows from the input."`
	Shape  string `help:"The shape: ${enum}." enum:"point,line,plane,circle,sphere,cylinder,cone,torus" required:"" placeholder:"SHAPE"`
	Part   string `help:"Fit to this part of the model; otherwise to the whole model." placeholder:"NAME"`
	Robust bool   `help:"Leave outliers out."`
	JSON   bool   `name:"json" help:"Print JSON."`
	modelFlags
}

// fitAnswer is the command's JSON.
type fitAnswer struct {
	File string    `json:"file"`
	Part string    `json:"part,omitempty"`
	Unit mesh.Unit `json:"unit,omitempty"`
	wire.Datum
}

// Run fits the shape to all vertices of the part or to the points.
func (c *fitCommand) Run(r *run) error {
	points, normals, unit, err := c.read(r)
	if err != nil {
		return err
	}
	d, err := fit.Fit(fit.Kind(c.Shape), points, fit.Options{Normals: normals, Robust: c.Robust})
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(c.File), err)
	}
	a := fitAnswer{File: c.File, Part: c.Part, Unit: unit, Datum: wire.NewDatum(d)}
	if c.JSON {
		return r.printJSON(a)
	}
	return r.print(printDatum(d, unit))
}

// read returns the points with their normals, nil where there are none.
func (c *fitCommand) read(r *run) (points, normals []r3.Vec, unit mesh.Unit, err error) {
	if model, err := c.isModel(); err != nil {
		return nil, nil, "", err
	} else if !model {
		points, err = c.readText(r)
		return points, nil, "", err
	}
	s, err := r.open(c.File, c.modelFlags)
	if err != nil {
		return nil, nil, "", err
	}
	parts := s.Parts
	if c.Part != "" {
		i, err := findPart(parts, c.Part)
		if err != nil {
			return nil, nil, "", fmt.Errorf("%s: %w", filepath.Base(c.File), err)
		}
		parts = parts[i : i+1]
	}
	for _, p := range parts {
		start := len(points)
		points = append(points, p.Mesh.Vertices()...)
		normals = append(normals, make([]r3.Vec, len(points)-start)...)
		for t, v := range p.Mesh.Triangles() {
			n := p.Mesh.AreaNormal(t)
			for _, i := range v {
				normals[start+int(i)] = r3.Add(normals[start+int(i)], n)
			}
		}
	}
	return points, normals, s.Model.Unit, nil
}

// isModel tells a model or document from a text file of points: by content
// where that proves it, else by the file's name.
func (c *fitCommand) isModel() (bool, error) {
	if c.File == "-" {
		return false, nil
	}
	if isDocument(c.File) {
		return true, nil
	}
	info, err := os.Stat(c.File)
	if err != nil || !info.Mode().IsRegular() || info.Size() == 0 {
		return true, nil // the model reader says what is wrong with it
	}
	f, err := os.Open(c.File)
	if err != nil {
		return true, nil
	}
	defer f.Close()
	head := make([]byte, 1024)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return false, fmt.Errorf("%s: %w", c.File, err)
	}
	return meshio.Detect(head[:n], info.Size(), c.File) != "", nil
}

func (c *fitCommand) readText(r *run) ([]r3.Vec, error) {
	if c.Part != "" {
		return nil, usageError{fmt.Errorf("--part %q: a text file of points has no parts", c.Part)}
	}
	if c.File == "-" {
		return readPoints(r.std.In, "the input")
	}
	f, err := os.Open(c.File)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", c.File, err)
	}
	defer f.Close()
	return readPoints(f, filepath.Base(c.File))
}

// printDatum returns the datum as lines of names and values.
func printDatum(d fit.Datum, unit mesh.Unit) string {
	w := wire.NewDatum(d)
	var p pairs
	p.add("shape", "%s", d.Kind)
	p.add("point", "%s", vector(d.Origin))
	if w.Axis != nil {
		p.add("axis", "%s", vector(d.Axis))
	}
	if w.Radius != nil {
		p.add("radius", "%s", length(d.Radius, unit))
	}
	if w.Radius2 != nil {
		p.add("tube radius", "%s", length(d.Radius2, unit))
	}
	if w.HalfAngle != nil {
		p.add("half angle", "%s", angle(d.HalfAngle))
	}
	rejected := ""
	if d.Rejected > 0 {
		rejected = fmt.Sprintf(", %d left out", d.Rejected)
	}
	p.add("points", "%d%s", d.Count, rejected)
	p.add("RMS", "%s", length(d.RMS, unit))
	p.add("form error", "%s", length(d.FormError, unit))
	p.add("covered arc", "%s", angle(d.Arc))
	p.add("sagitta", "%s", length(d.Sagitta, unit))
	if w.Axis != nil {
		p.add("axis known to", "%s (1 sigma)", angle(d.SigmaAxis))
	}
	p.add("point known to", "%s (1 sigma)", length(d.SigmaOrigin, unit))
	if w.Radius != nil {
		p.add("radius known to", "%s (1 sigma)", length(d.SigmaRadius, unit))
	}
	return p.String()
}
