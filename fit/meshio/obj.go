package meshio

import (
	"bytes"
	"fmt"
	"io"

	"gonum.org/v1/gonum/spatial/r3"
	"pintle/fit/mesh"
)

// objReader reads the polygonal part of OBJ: v, f, o and g. Texture
// coordinates, normals, materials, colours and lines are passed over.
//
// Parts: every `o` statement begins one; an `o` that repeats the name in force
// continues it. Faces before the first `o` are a part named by their `g`, or by
// the file. In a file without `o`, faces with the same `g` names are one part
// wherever they stand.
type objReader struct {
	j     *job
	lines *lines
	hints hints

	points  []r3.Vec
	corners []int32 // into points, all faces
	starts  []int32
	runs    []objRun
	object  int // `o` statements that changed the name, 0 before the first
	name    string
	group   string

	// The face corner that lies furthest ahead of the vertices read so far: it
	// may yet turn out right.
	ahead     int64
	aheadLine int

	thin     int // faces of fewer than three corners
	freeForm int // curves and surfaces
	known    bool
}

// objRun is a stretch of faces under one object and group.
type objRun struct {
	object     int
	name       string
	group      string
	face, last int // range of faces
}

func (j *job) decodeOBJ() (*mesh.Model, error) {
	l, err := newLines(j)
	if err != nil {
		return nil, err
	}
	l.joins = true
	o := &objReader{j: j, lines: l}
	if err := o.read(); err != nil {
		return nil, err
	}
	if o.ahead > int64(len(o.points)) {
		return nil, j.fail(fmt.Sprintf("line %d", o.aheadLine), o.noVertex(o.ahead), remedyExport)
	}
	if !o.known {
		return nil, j.fail("", "this is not an OBJ file, it has neither vertices nor faces", remedyFormats)
	}
	if o.thin > 0 {
		j.note("%s with fewer than three corners left out.", plural(o.thin, "face", "faces"))
	}
	if o.freeForm > 0 {
		j.note("%s left out, only polygons are read.", plural(o.freeForm, "free-form curve or surface", "free-form curves and surfaces"))
	}
	drafts, err := o.parts()
	if err != nil {
		return nil, err
	}
	return j.finish(drafts, o.hints.settled())
}

func (o *objReader) read() error {
	for {
		line, err := o.lines.read()
		if err == io.EOF {
			o.endRun()
			return nil
		}
		if err != nil {
			return err
		}
		if err := o.statement(line); err != nil {
			return err
		}
	}
}

func (o *objReader) statement(line []byte) error {
	word, rest := field(line)
	if len(word) == 1 {
		switch word[0] {
		case 'v':
			return o.vertex(rest)
		case 'f':
			return o.face(rest)
		case 'o', 'g':
			o.begin(word[0], rest)
			return nil
		}
	}
	switch string(word) {
	case "fo": // an old spelling of f
		return o.face(rest)
	case "curv", "curv2", "surf":
		o.freeForm++
	default:
		if text, ok := comment(line); ok && len(o.points) == 0 {
			o.hints.read(text)
		}
	}
	return nil
}

// vertex reads x y z; a weight or a colour behind them is passed over.
func (o *objReader) vertex(rest []byte) error {
	var p r3.Vec
	for _, c := range [...]*float64{&p.X, &p.Y, &p.Z} {
		var word []byte
		word, rest = field(rest)
		v, ok := parseFloat(word)
		if !ok {
			return o.bad(word, "a coordinate")
		}
		*c = v
	}
	o.known = true
	if err := o.j.addVertices(1, ""); err != nil {
		return o.at(err)
	}
	o.points = append(o.points, p)
	return nil
}

func (o *objReader) face(rest []byte) error {
	o.known = true
	from := len(o.corners)
	for {
		var word []byte
		word, rest = field(rest)
		if len(word) == 0 || word[0] == '#' {
			break
		}
		v, err := o.corner(word)
		if err != nil {
			return err
		}
		o.corners = append(o.corners, v)
	}
	n := len(o.corners) - from
	if n < 3 {
		o.corners = o.corners[:from]
		o.thin++
		return nil
	}
	if err := o.j.checkPolygon(n, ""); err != nil {
		return o.at(err)
	}
	o.starts = append(o.starts, int32(from))
	return nil
}

// corner reads the vertex index of "7", "7/2", "7//3" or "7/2/3".
func (o *objReader) corner(word []byte) (int32, error) {
	index := word
	if k := bytes.IndexByte(word, '/'); k >= 0 {
		index = word[:k]
	}
	n, ok := parseInt(index)
	if !ok {
		return 0, o.bad(word, "a vertex index")
	}
	have := int64(len(o.points))
	if n < 0 {
		n += have + 1
		if n < 1 {
			return 0, o.fail(o.noVertex(n-have-1), remedyExport)
		}
	}
	if n < 1 || n > int64(o.j.limits.MaxVertices) {
		return 0, o.fail(o.noVertex(n), remedyExport)
	}
	if n > have && n > o.ahead {
		o.ahead, o.aheadLine = n, o.lines.number
	}
	return int32(n - 1), nil
}

// begin starts a new run of faces; kind is 'o' or 'g'.
func (o *objReader) begin(kind byte, rest []byte) {
	o.endRun()
	name := cleanName(string(rest))
	if kind == 'g' {
		o.group = name
		return
	}
	if o.object == 0 || name != o.name {
		o.object++
	}
	o.name = name
}

func (o *objReader) endRun() {
	from := 0
	if n := len(o.runs); n > 0 {
		from = o.runs[n-1].last
	}
	if from < len(o.starts) {
		o.runs = append(o.runs, objRun{o.object, o.name, o.group, from, len(o.starts)})
	}
}

// parts turns the runs into drafts.
func (o *objReader) parts() ([]*draft, error) {
	type key struct {
		object int
		group  string
	}
	var drafts []*draft
	index := map[key]int{}
	members := [][]objRun{}
	for _, r := range o.runs {
		k, name := key{object: r.object}, r.name
		if r.object == 0 {
			k.group, name = r.group, r.group
		}
		i, ok := index[k]
		if !ok {
			i = len(drafts)
			if err := o.j.checkParts(i+1, ""); err != nil {
				return nil, err
			}
			index[k] = i
			drafts = append(drafts, &draft{name: name})
			members = append(members, nil)
		}
		members[i] = append(members[i], r)
	}
	local := make([]int32, len(o.points)) // index within the part + 1
	for i, d := range drafts {
		if err := o.gather(d, members[i], local); err != nil {
			return nil, err
		}
	}
	return drafts, nil
}

// gather copies the faces of the runs into d with the vertices they use.
// local is all zero before and after.
func (o *objReader) gather(d *draft, runs []objRun, local []int32) error {
	var used []int32
	d.starts = []int32{}
	for _, r := range runs {
		err := o.j.chunks(r.last-r.face, func(from, to int) {
			for f := r.face + from; f < r.face+to; f++ {
				end := len(o.corners)
				if f+1 < len(o.starts) {
					end = int(o.starts[f+1])
				}
				d.starts = append(d.starts, int32(len(d.corners)))
				for _, v := range o.corners[o.starts[f]:end] {
					if local[v] == 0 {
						used = append(used, v)
						local[v] = int32(len(used))
					}
					d.corners = append(d.corners, local[v]-1)
				}
			}
		})
		if err != nil {
			return err
		}
	}
	d.points = make([]r3.Vec, len(used))
	return o.j.chunks(len(used), func(from, to int) {
		for i, v := range used[from:to] {
			d.points[from+i] = o.points[v]
			local[v] = 0
		}
	})
}

func (o *objReader) fail(what, remedy string) error {
	return o.j.fail(o.lines.place(), what, remedy)
}

func (o *objReader) bad(word []byte, want string) error {
	if len(word) == 0 {
		return o.fail(want+" is missing", remedyExport)
	}
	return o.fail(fmt.Sprintf("%s is not %s", quote(word), want), remedyExport)
}

// at puts the current line into an *Error that was made without a place, so
// that the place need not be spelt out for each of a million good lines.
func (o *objReader) at(err error) error { return atPlace(err, o.lines.place()) }

func (o *objReader) noVertex(n int64) string {
	return fmt.Sprintf("a face uses vertex %d, but there are %d vertices", n, len(o.points))
}
