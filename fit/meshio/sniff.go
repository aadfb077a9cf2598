package meshio

import (
	"bytes"
	"path/filepath"
	"strings"
)

// Format names a family of mesh files.
type Format string

// The formats that can be read. GLTF covers .gltf and .glb, STL and PLY their
// ASCII and binary forms.
const (
	GLTF Format = "glTF"
	OBJ  Format = "OBJ"
	STL  Format = "STL"
	PLY  Format = "PLY"
)

// Extensions returns the file name extensions of the formats, lower case,
// with their dot.
func Extensions() []string { return []string{".glb", ".gltf", ".obj", ".stl", ".ply"} }

// FormatOf returns the format that a file name's extension stands for, or "".
func FormatOf(name string) Format {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".glb", ".gltf":
		return GLTF
	case ".obj":
		return OBJ
	case ".stl":
		return STL
	case ".ply":
		return PLY
	}
	return ""
}

// Detect tells the format from the first bytes of a file (1 kB is enough), its
// size and its name; "" where it is none of ours. What the content proves wins
// over the extension, the extension wins over what the content suggests.
func Detect(head []byte, size int64, name string) Format {
	text := trimBOM(head)
	switch {
	case bytes.HasPrefix(head, []byte(glbMagic)):
		return GLTF
	case bytes.HasPrefix(text, []byte("ply\n")), bytes.HasPrefix(text, []byte("ply\r")):
		return PLY
	case looksLikeASCIISTL(head):
		return STL
	}
	if f := FormatOf(name); f != "" {
		return f
	}
	switch {
	case bytes.HasPrefix(bytes.TrimLeft(text, " \t\r\n"), []byte("{")):
		return GLTF
	case binarySTLSize(head, size):
		return STL
	case looksLikeOBJ(text):
		return OBJ
	}
	return ""
}

// looksLikeASCIISTL wants more than the first word: binary files may begin
// with "solid" too.
func looksLikeASCIISTL(head []byte) bool {
	if !beginsWithSolid(head) || bytes.IndexByte(head, 0) >= 0 {
		return false
	}
	text := bytes.ToLower(head)
	return bytes.Contains(text, []byte("facet")) || bytes.Contains(text, []byte("endsolid"))
}

func beginsWithSolid(head []byte) bool {
	text := bytes.TrimLeft(trimBOM(head), " \t\r\n")
	return len(text) >= 5 && is(text[:5], "solid")
}

// isText says whether b holds no control characters but white space.
func isText(b []byte) bool {
	for _, c := range b {
		if c < ' ' && (c < '\t' || c > '\r') {
			return false
		}
	}
	return true
}

// binarySTLSize says whether the triangle count at byte 80 accounts for the
// file's size exactly.
func binarySTLSize(head []byte, size int64) bool {
	if len(head) < stlHeader {
		return false
	}
	n := int64(le32(head[stlHeader-4:]))
	return n > 0 && stlHeader+n*stlFacet == size
}

// looksLikeOBJ wants a vertex line before anything that is not OBJ.
func looksLikeOBJ(text []byte) bool {
	for line := range bytes.Lines(text) {
		word, rest := field(bytes.TrimRight(line, "\r\n"))
		switch string(word) {
		case "", "o", "g", "s", "mtllib", "usemtl", "vt", "vn":
		case "v":
			x, rest := field(rest)
			y, _ := field(rest)
			_, okX := parseFloat(x)
			_, okY := parseFloat(y)
			return okX && okY
		default:
			if word[0] != '#' {
				return false
			}
		}
	}
	return false
}

func trimBOM(b []byte) []byte { return bytes.TrimPrefix(b, []byte("\xef\xbb\xbf")) }

// unknown explains why content that begins with head is not read.
func (j *job) unknown(head []byte) error {
	what := "this is not a mesh file of a kind that can be read"
	switch {
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		what = "this is a ZIP archive, not a mesh file"
	case bytes.HasPrefix(head, []byte("\x1f\x8b")):
		what = "this is a compressed archive, not a mesh file"
	case isUTF16(head):
		return j.utf16()
	}
	return j.fail("", what, remedyFormats)
}

func (j *job) utf16() error { return j.fail("", "the text is UTF-16", "save it as UTF-8") }

func isUTF16(head []byte) bool {
	return bytes.HasPrefix(head, []byte("\xff\xfe")) || bytes.HasPrefix(head, []byte("\xfe\xff"))
}
