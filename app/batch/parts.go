package batch

import (
	"fmt"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/app/doc/wire"
	"pintle/fit/mesh"
)

type partsCommand struct {
	Model string `arg:"" help:"A model or a document."`
	JSON  bool   `name:"json" help:"Print JSON."`
	modelFlags
}

// partsAnswer is the command's JSON.
type partsAnswer struct {
	File      string       `json:"file"`
	Unit      mesh.Unit    `json:"unit"`
	Up        mesh.Up      `json:"up"`
	Triangles int          `json:"triangles"`
	Box       boxAnswer    `json:"box"`
	Parts     []partAnswer `json:"parts"`
	Nodes     []nodeAnswer `json:"nodes"`
	Notes     []string     `json:"notes"`
}

type boxAnswer struct {
	Min wire.Vec `json:"min"`
	Max wire.Vec `json:"max"`
}

type partAnswer struct {
	Name      string    `json:"name"`
	Hidden    bool      `json:"hidden"`
	Vertices  int       `json:"vertices"`
	Triangles int       `json:"triangles"`
	Polygons  int       `json:"polygons"`
	Shells    int       `json:"shells"`
	Closed    bool      `json:"closed"`
	Area      wire.Num  `json:"area"`
	Volume    wire.Num  `json:"volume"` // null of an open part
	Diagonal  wire.Num  `json:"diagonal"`
	Box       boxAnswer `json:"box"`
}

type nodeAnswer struct {
	Name   string   `json:"name"`
	Parent *string  `json:"parent"`
	Joint  bool     `json:"joint"`
	Origin wire.Vec `json:"origin"`
}

// Run lists the parts.
func (c *partsCommand) Run(r *run) error {
	s, err := r.open(c.Model, c.modelFlags)
	if err != nil {
		return err
	}
	a, err := listParts(s)
	if err != nil {
		return err
	}
	a.File = c.Model
	if c.JSON {
		return r.printJSON(a)
	}
	return r.print(a.text())
}

func listParts(s *doc.Session) (partsAnswer, error) {
	a := partsAnswer{
		Unit: s.Model.Unit, Up: s.Model.Up, Box: newBox(s.Model.Bounds()),
		Parts: make([]partAnswer, len(s.Parts)), Nodes: make([]nodeAnswer, len(s.Model.Nodes)), Notes: []string{},
	}
	for _, f := range s.Opening {
		a.Notes = append(a.Notes, f.Text)
	}
	for i, p := range s.Parts {
		shells, err := s.Shells(p.Name)
		if err != nil {
			return a, err
		}
		m := p.Mesh
		a.Parts[i] = partAnswer{
			Name: p.Name, Hidden: s.Doc.Parts[i].Hidden,
			Vertices: len(m.Vertices()), Triangles: len(m.Triangles()), Polygons: m.NumPolygons(),
			Shells: shells, Closed: m.IsClosed(), Area: wire.Num(m.Area()), Volume: noNumber(),
			Diagonal: wire.Num(m.Diagonal()), Box: newBox(m.Bounds()),
		}
		if a.Parts[i].Closed {
			a.Parts[i].Volume = wire.Num(m.Volume())
		}
		a.Triangles += len(m.Triangles())
	}
	for i, n := range s.Model.Nodes {
		a.Nodes[i] = nodeAnswer{Name: n.Name, Joint: n.Joint, Origin: wire.Vec(n.Origin)}
		if n.Parent >= 0 {
			a.Nodes[i].Parent = &s.Model.Nodes[n.Parent].Name
		}
	}
	return a, nil
}

func newBox(b r3.Box) boxAnswer { return boxAnswer{Min: wire.Vec(b.Min), Max: wire.Vec(b.Max)} }

func (a partsAnswer) text() string {
	t := table{right: []bool{false, true, true, true, false, true, true}}
	t.row("part", "triangles", "vertices", "shells", "closed", "area "+string(a.Unit)+"²", "volume "+string(a.Unit)+"³")
	for _, p := range a.Parts {
		closed := "no"
		if p.Closed {
			closed = "yes"
		}
		name := p.Name
		if p.Hidden {
			name += " (hidden)"
		}
		t.row(name, strconv.Itoa(p.Triangles), strconv.Itoa(p.Vertices), strconv.Itoa(p.Shells), closed,
			figure(float64(p.Area)), figure(float64(p.Volume)))
	}
	size := r3.Sub(r3.Vec(a.Box.Max), r3.Vec(a.Box.Min))
	out := t.String() + fmt.Sprintf("\n%s, %d triangles, %s x %s x %s %s, %s up\n",
		countOf(len(a.Parts), "part"), a.Triangles, figure(size.X), figure(size.Y), figure(size.Z), a.Unit, a.Up)
	if len(a.Nodes) > 0 {
		out += countOf(len(a.Nodes), "node") + " without faces\n"
	}
	for _, n := range a.Notes {
		out += "note: " + n + "\n"
	}
	return out
}

func countOf(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
