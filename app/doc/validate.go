package doc

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// maxName bounds the length of a name in bytes.
const maxName = 500

// Validate returns the first thing in which the document contradicts itself:
// names that are empty or stand twice, a piece of the model in two parts,
// joints between parts that are not there, a part on two joints, a ring of
// joints, limits the wrong way round, values that follow themselves, numbers that are not finite. It does not
// look at the model.
func (d Document) Validate() error {
	if d.Model.Unit != "" && d.Model.Unit.Millimetres() == 0 {
		return fmt.Errorf("the model's unit %q is not one of mm, cm, m, in", d.Model.Unit)
	}
	if d.Model.Up != "" && d.Model.Up != mesh.UpY && d.Model.Up != mesh.UpZ {
		return fmt.Errorf("the model's up axis %q is not one of Y, Z", d.Model.Up)
	}
	if h := d.Model.SHA256; h != "" && !isHash(h) {
		return fmt.Errorf("the model's sha256 must be 64 hexadecimal digits in lower case")
	}
	if err := d.validateParts(); err != nil {
		return err
	}
	if err := d.validateJoints(); err != nil {
		return err
	}
	if err := d.validatePoses(); err != nil {
		return err
	}
	if err := d.validateCouplings(); err != nil {
		return err
	}
	return d.validateDrivers()
}

func isHash(h string) bool {
	return len(h) == 64 && strings.Trim(h, "0123456789abcdef") == ""
}

// CheckName fails for a name that cannot stand in a list: empty, longer than
// 500 bytes, with control characters or not UTF-8. what is "part", "joint" or
// "pose".
func CheckName(what, name string) error {
	switch {
	case strings.TrimSpace(name) == "":
		return fmt.Errorf("a %s needs a name", what)
	case len(name) > maxName:
		return fmt.Errorf("the %s name %.20q... is longer than %d bytes", what, name, maxName)
	case !utf8.ValidString(name) || strings.IndexFunc(name, unicode.IsControl) >= 0:
		return fmt.Errorf("the %s name %q holds characters that cannot be shown", what, name)
	}
	return nil
}

// names checks each name and that none stands twice.
type names struct {
	what string
	seen map[string]bool
}

func newNames(what string) names { return names{what: what, seen: map[string]bool{}} }

func (n names) add(name string) error {
	if err := CheckName(n.what, name); err != nil {
		return err
	}
	if n.seen[name] {
		return fmt.Errorf("there are two %ss named %q", n.what, name)
	}
	n.seen[name] = true
	return nil
}

func (d Document) validateParts() error {
	seen := newNames("part")
	whole := map[string]string{}  // source: the part that has all of it
	shells := map[string]string{} // source: a part that has a shell of it
	owner := make(map[Piece]string)
	fine := map[string]bool{} // source: whether its shells are fine ones
	for _, p := range d.Parts {
		if err := seen.add(p.Name); err != nil {
			return err
		}
		if len(p.Pieces) == 0 {
			return fmt.Errorf("part %q has no pieces", p.Name)
		}
		for _, piece := range p.Pieces {
			if piece.Source == "" || piece.Shell < Whole || piece.Shell == Whole && piece.Fine {
				return fmt.Errorf("part %q has a piece that names nothing", p.Name)
			}
			other, taken := whole[piece.Source]
			if !taken && piece.Shell == Whole {
				other, taken = shells[piece.Source]
			}
			if !taken {
				other, taken = owner[piece]
			}
			if taken {
				return fmt.Errorf("the parts %q and %q both hold %s of the model", other, p.Name, piece)
			}
			if was, cut := fine[piece.Source]; cut && was != piece.Fine && piece.Shell != Whole {
				return fmt.Errorf("part %q of the model is cut in two ways: take its shells either fine or not", piece.Source)
			}
			if piece.Shell != Whole {
				fine[piece.Source] = piece.Fine
			}
			owner[piece] = p.Name
			if piece.Shell == Whole {
				whole[piece.Source] = p.Name
			} else {
				shells[piece.Source] = p.Name
			}
		}
	}
	return nil
}

// String names the piece for a message: part "arm" or shell 3 of part "arm".
func (p Piece) String() string {
	if p.Shell == Whole {
		return fmt.Sprintf("part %q", p.Source)
	}
	return fmt.Sprintf("shell %d of part %q", p.Shell, p.Source)
}

func (d Document) validateJoints() error {
	parts := map[string]bool{"": true}
	for _, p := range d.Parts {
		parts[p.Name] = true
	}
	seen := newNames("joint")
	carrier := map[string]int{} // child part: index of its joint
	for i, j := range d.Joints {
		if err := seen.add(j.Name); err != nil {
			return err
		}
		if err := j.validate(); err != nil {
			return fmt.Errorf("joint %q: %w", j.Name, err)
		}
		for _, part := range []string{j.Parent, j.Child} {
			if !parts[part] {
				return fmt.Errorf("joint %q: there is no part %q", j.Name, part)
			}
		}
		if j.Closes {
			continue
		}
		if other, ok := carrier[j.Child]; ok {
			return fmt.Errorf("part %q hangs on two joints, %q and %q: a part has one", j.Child, d.Joints[other].Name, j.Name)
		}
		carrier[j.Child] = i
	}
	for _, j := range d.Joints {
		for _, other := range j.Spec.Joints() {
			if !seen.seen[other] {
				return fmt.Errorf("the frame of joint %q refers to joint %q, which is not there", j.Name, other)
			}
		}
	}
	return d.validateTree(carrier)
}

// validateTree fails where following the parents leads round in a ring.
func (d Document) validateTree(carrier map[string]int) error {
	walk := make([]int, len(d.Joints)) // number of the walk that came by, 0: none
	for i := range d.Joints {
		for at := i; !d.Joints[i].Closes; {
			if walk[at] == i+1 {
				j := d.Joints[at]
				return fmt.Errorf("joint %q closes a ring: part %q would hang on itself", j.Name, j.Child)
			}
			if walk[at] != 0 {
				break // an earlier walk led to the world from here
			}
			walk[at] = i + 1
			next, ok := carrier[d.Joints[at].Parent]
			if !ok {
				break
			}
			at = next
		}
	}
	return nil
}

func (j Joint) validate() error {
	if j.Kind.Freedoms() < 0 {
		return fmt.Errorf("there is no joint kind %q", j.Kind)
	}
	if j.Child == "" {
		return fmt.Errorf("it has no child part")
	}
	if j.Child == j.Parent {
		return fmt.Errorf("part %q is both its parent and its child", j.Child)
	}
	if err := j.Frame.Check(); err != nil {
		return err
	}
	if err := j.Letters.Check(); err != nil {
		return err
	}
	if !finite(j.Pitch) || j.Kind != kinematics.Helical && j.Pitch != 0 {
		return fmt.Errorf("its pitch %v has no meaning", j.Pitch)
	}
	if err := j.Recipe.validate(); err != nil {
		return err
	}
	if err := j.validateLimits(); err != nil {
		return err
	}
	for _, p := range j.Picks {
		if err := p.validate(); err != nil {
			return fmt.Errorf("its pick on %q: %w", p.Source, err)
		}
	}
	return nil
}

func (r DatumRecipe) validate() error {
	switch r.Method {
	case "", TwoLoops, TwoPoints, EdgeLine:
		if r.Shape != "" || r.Robust {
			return fmt.Errorf("its datum method %q takes neither a shape nor robust", r.Method)
		}
	case LeastSquares:
		switch r.Shape {
		case fit.Point, fit.Line, fit.Plane, fit.Circle, fit.Sphere, fit.Cylinder, fit.Cone, fit.Torus:
		default:
			return fmt.Errorf("there is no datum of shape %q", r.Shape)
		}
	default:
		return fmt.Errorf("there is no datum method %q", r.Method)
	}
	return nil
}

func (p Pick) validate() error {
	if p.Source == "" {
		return fmt.Errorf("it names no part")
	}
	if p.Empty() {
		return fmt.Errorf("it holds nothing")
	}
	for _, list := range p.lists() {
		for _, i := range list {
			if i < 0 {
				return fmt.Errorf("%d is no element", i)
			}
		}
	}
	for _, l := range p.Loops {
		if len(l.Vertices) < 2 {
			return fmt.Errorf("a loop has %d vertices", len(l.Vertices))
		}
	}
	return nil
}

// Empty reports whether nothing is picked.
func (e Elements) Empty() bool {
	return len(e.Vertices)+len(e.Edges)+len(e.Loops)+len(e.Triangles) == 0
}

// lists returns every list of numbers among the elements.
func (e Elements) lists() [][]int32 {
	lists := [][]int32{e.Vertices, e.Triangles}
	for i := range e.Edges {
		lists = append(lists, e.Edges[i][:])
	}
	for _, l := range e.Loops {
		lists = append(lists, l.Vertices)
	}
	return lists
}

func (d Document) validatePoses() error {
	freedoms := map[string]int{}
	for _, j := range d.Joints {
		freedoms[j.Name] = j.Kind.Freedoms()
	}
	seen := newNames("pose")
	for _, p := range d.Poses {
		if err := seen.add(p.Name); err != nil {
			return err
		}
		set := map[string]bool{}
		for _, v := range p.Values {
			n, known := freedoms[v.Joint]
			switch {
			case !known:
				return fmt.Errorf("pose %q: there is no joint %q", p.Name, v.Joint)
			case set[v.Joint]:
				return fmt.Errorf("pose %q: joint %q stands twice", p.Name, v.Joint)
			case len(v.Values) > max(n, 1):
				return fmt.Errorf("pose %q: joint %q has %d values, not %d", p.Name, v.Joint, n, len(v.Values))
			case slices.ContainsFunc(v.Values, func(x float64) bool { return !finite(x) }):
				return fmt.Errorf("pose %q: the value of joint %q is not a number", p.Name, v.Joint)
			}
			set[v.Joint] = true
		}
	}
	return nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
