package meshio

import (
	"fmt"
	"io"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"pintle/fit/mesh"
)

// Layout of binary STL: 80 bytes of text, a triangle count, and per triangle a
// normal, three corners and two attribute bytes, all little endian.
const (
	stlHeader = 84
	stlFacet  = 50
)

func (j *job) decodeSTL() (*mesh.Model, error) {
	head, err := j.head()
	if err != nil {
		return nil, err
	}
	// Exporters begin binary files with "solid" too, so an exact size proves
	// more than the first word.
	if !binarySTLSize(head, j.size) && (looksLikeASCIISTL(head) || beginsWithSolid(head) && isText(head)) {
		return j.decodeASCIISTL()
	}
	if isUTF16(head) {
		return nil, j.utf16()
	}
	return j.decodeBinarySTL()
}

// stlBlock is one solid of a binary file.
type stlBlock struct {
	at    int64 // offset of its header
	count int
	name  string
}

func (j *job) decodeBinarySTL() (*mesh.Model, error) {
	blocks, err := j.stlBlocks()
	if err != nil {
		return nil, err
	}
	var drafts []*draft
	for _, b := range blocks {
		if err := j.addTriangles(b.count, ""); err != nil {
			return nil, err
		}
		if err := j.addVertices(3*b.count, ""); err != nil {
			return nil, err
		}
		d, err := j.readSTLBlock(b)
		if err != nil {
			return nil, err
		}
		drafts = append(drafts, d)
	}
	return j.finish(drafts, hints{})
}

// stlBlocks finds the solids of a binary file. Files joined end to end are
// several solids. Where the stated count and the size disagree, the size
// decides if it holds whole triangles, except that a file shorter than it
// states is cut off unless the count is the 0 or 2^32-1 of a writer that never
// filled it in.
func (j *job) stlBlocks() ([]stlBlock, error) {
	if j.size < stlHeader {
		return nil, j.cut("", fmt.Sprintf("the file has %d bytes, a binary STL has at least %d", j.size, stlHeader))
	}
	blocks, err := j.stlChain()
	if err != nil || blocks != nil {
		return blocks, err
	}
	first, err := j.stlBlockAt(0)
	if err != nil {
		return nil, err
	}
	stated := int64(first.count)
	body := j.size - stlHeader
	held, rest := body/stlFacet, body%stlFacet
	unfilled := stated == 0 || stated == math.MaxUint32
	switch {
	case held == 0 && unfilled:
		return nil, j.fail("", "the file holds no triangles", remedyExport)
	case unfilled && rest == 0, stated < held && rest == 0:
		j.note("The header states %s, the file holds %d: all of them were read.", plural(int(stated), "triangle", "triangles"), held)
		first.count = int(held)
	case stated <= held && stated > 0:
		j.note("%s behind the last triangle passed over.", plural(int(body-stated*stlFacet), "byte", "bytes"))
	case unfilled:
		return nil, j.failAtByte(stlHeader+held*stlFacet, "the file ends within a triangle", remedyCut)
	default:
		return nil, j.failAtByte(j.size, fmt.Sprintf("the header states %d triangles, the file holds %d", stated, held), remedyCut)
	}
	return []stlBlock{first}, nil
}

// stlChain returns the solids if they account for the file to the last byte.
func (j *job) stlChain() ([]stlBlock, error) {
	var blocks []stlBlock
	for at := int64(0); at < j.size; {
		if j.size-at < stlHeader || len(blocks) >= j.limits.MaxParts {
			return nil, nil
		}
		b, err := j.stlBlockAt(at)
		if err != nil {
			return nil, err
		}
		if b.count == 0 {
			return nil, nil
		}
		if len(blocks)%1024 == 0 {
			if err := j.tick(0, "Reading"); err != nil {
				return nil, err
			}
		}
		blocks = append(blocks, b)
		at += stlHeader + int64(b.count)*stlFacet
		if at > j.size {
			return nil, nil
		}
	}
	return blocks, nil
}

func (j *job) stlBlockAt(at int64) (stlBlock, error) {
	var h [stlHeader]byte
	if n, err := j.data.ReadAt(h[:], at); n < len(h) {
		return stlBlock{}, j.ioError(at+int64(n), err)
	}
	b := stlBlock{at: at, count: int(le32(h[80:]))}
	// Most headers carry the exporter's greeting; only "solid NAME" is a name.
	text := h[:80]
	for i, c := range text {
		if c == 0 {
			text = text[:i]
			break
		}
	}
	if word, rest := field(text); string(word) == "solid" {
		b.name = string(rest)
	}
	return b, nil
}

func (j *job) readSTLBlock(b stlBlock) (*draft, error) {
	w := newWindow(j, b.at+stlHeader)
	d := &draft{
		name:    b.name,
		points:  make([]r3.Vec, 0, 3*b.count),
		corners: make([]int32, 3*b.count),
	}
	err := j.chunks(len(d.corners), func(from, to int) {
		for i := from; i < to; i++ {
			d.corners[i] = int32(i)
		}
	})
	if err != nil {
		return nil, err
	}
	for range b.count {
		t, err := w.take(stlFacet)
		if err == io.EOF {
			return nil, j.failAtByte(w.offset(), "the file ends within a triangle", remedyCut)
		}
		if err != nil {
			return nil, err
		}
		for c := 12; c < 48; c += 12 { // the normal is passed over, the winding tells it
			d.points = append(d.points, r3.Vec{X: f32(t[c:]), Y: f32(t[c+4:]), Z: f32(t[c+8:])})
		}
	}
	return d, nil
}

func f32(b []byte) float64 { return float64(math.Float32frombits(le32(b))) }
