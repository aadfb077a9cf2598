package handover

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/qmuntal/gltf"
	"github.com/qmuntal/gltf/modeler"
	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/fit/mesh"
)

// MeshFile is a mesh to be written, with what its coordinates mean.
type MeshFile struct {
	Name string // of the object in the file
	Mesh *mesh.Mesh
	Unit mesh.Unit
	Up   mesh.Up
}

// MeshExtensions returns the file name endings that WriteMesh knows.
func MeshExtensions() []string { return []string{".stl", ".obj", ".glb"} }

// CheckMeshPath fails for a file name that WriteMesh has no format for, before
// long work is spent on what cannot be written.
func CheckMeshPath(path string) error {
	ext := strings.ToLower(filepath.Ext(path))
	for _, e := range MeshExtensions() {
		if ext == e {
			return nil
		}
	}
	return fmt.Errorf("%s: a mesh is written as %s; give the file one of these endings", path, strings.Join(MeshExtensions(), ", "))
}

// WriteMesh writes a mesh to path, atomically, in the format of the file name's
// ending:
//
//   - .obj keeps polygons and every digit; unit and up axis stand in a comment.
//   - .stl is binary: triangles in single precision, no unit.
//   - .glb is glTF 2.0: metres and Y up as that format demands, by a node that
//     scales and turns; single precision about the centre of the mesh's box.
//
// It fails for an unknown ending, an empty mesh, and coordinates or counts that
// the format cannot hold.
func WriteMesh(path string, f MeshFile) error {
	if err := CheckMeshPath(path); err != nil {
		return err
	}
	if len(f.Mesh.Triangles()) == 0 {
		return fmt.Errorf("writing %s: the mesh is empty", path)
	}
	write := map[string]func(io.Writer) error{".obj": f.writeOBJ, ".stl": f.writeSTL, ".glb": f.writeGLB}
	return doc.WriteAtomic(path, write[strings.ToLower(filepath.Ext(path))])
}

// line returns the name without what would end it early in a text file.
func (f MeshFile) line() string {
	name := strings.Join(strings.Fields(f.Name), " ")
	if name == "" {
		return "mesh"
	}
	return name
}

func (f MeshFile) writeOBJ(w io.Writer) error {
	b := bufio.NewWriterSize(w, 1<<16)
	fmt.Fprintf(b, "# Written by Pintle\n# units: %s\n# up axis: %s\no %s\n", f.Unit, f.Up, f.line())
	var buf []byte
	for _, v := range f.Mesh.Vertices() {
		buf = append(buf[:0], 'v')
		for _, c := range [3]float64{v.X, v.Y, v.Z} {
			buf = strconv.AppendFloat(append(buf, ' '), c, 'g', -1, 64)
		}
		b.Write(append(buf, '\n')) // errors stay with b until Flush
	}
	for i := range f.Mesh.NumPolygons() {
		buf = append(buf[:0], 'f')
		for _, v := range f.Mesh.Polygon(i) {
			buf = strconv.AppendInt(append(buf, ' '), int64(v)+1, 10)
		}
		b.Write(append(buf, '\n'))
	}
	return b.Flush()
}

func (f MeshFile) writeSTL(w io.Writer) error {
	n := len(f.Mesh.Triangles())
	if int64(n) > math.MaxUint32 {
		return fmt.Errorf("%d triangles are too many for STL", n)
	}
	b := bufio.NewWriterSize(w, 1<<16)
	head := make([]byte, 84)
	copy(head, "binary STL by Pintle: "+f.line()) // must not begin with "solid"
	binary.LittleEndian.PutUint32(head[80:], uint32(n))
	b.Write(head)
	record := make([]byte, 50) // normal, three corners, two spare bytes
	for t := range n {
		p, q, r := f.Mesh.Corners(t)
		normal := r3.Vec{}
		if a := f.Mesh.AreaNormal(t); r3.Norm(a) > 0 {
			normal = r3.Scale(1/r3.Norm(a), a)
		}
		for i, v := range [4]r3.Vec{normal, p, q, r} {
			if err := putSingles(record[12*i:], v); err != nil {
				return err
			}
		}
		b.Write(record)
	}
	return b.Flush()
}

func putSingles(dst []byte, v r3.Vec) error {
	for i, c := range [3]float64{v.X, v.Y, v.Z} {
		s := float32(c)
		if math.IsInf(float64(s), 0) {
			return fmt.Errorf("the coordinate %g is too large for the format", c)
		}
		binary.LittleEndian.PutUint32(dst[4*i:], math.Float32bits(s))
	}
	return nil
}

func (f MeshFile) writeGLB(w io.Writer) error {
	d := gltf.NewDocument()
	d.Asset.Generator = "Pintle"
	box := f.Mesh.Bounds()
	// Single precision is spent on the size of the mesh, not on how far from the
	// origin it lies.
	centre := r3.Scale(0.5, r3.Add(box.Min, box.Max))
	points := make([][3]float32, len(f.Mesh.Vertices()))
	for i, v := range f.Mesh.Vertices() {
		p := r3.Sub(v, centre)
		points[i] = [3]float32{float32(p.X), float32(p.Y), float32(p.Z)}
	}
	indexes := make([]uint32, 0, 3*len(f.Mesh.Triangles()))
	for _, t := range f.Mesh.Triangles() {
		indexes = append(indexes, uint32(t[0]), uint32(t[1]), uint32(t[2]))
	}
	d.Meshes = []*gltf.Mesh{{Name: f.line(), Primitives: []*gltf.Primitive{{
		Indices:    gltf.Index(modeler.WriteIndices(d, indexes)),
		Attributes: gltf.PrimitiveAttributes{gltf.POSITION: modeler.WritePosition(d, points)},
	}}}}
	scale := f.Unit.Millimetres() / 1000
	if scale == 0 {
		return fmt.Errorf("unit %q is not one of mm, cm, m, in", f.Unit)
	}
	turn := [4]float64{0, 0, 0, 1}
	if f.Up != mesh.UpY {
		turn = [4]float64{-math.Sqrt(0.5), 0, 0, math.Sqrt(0.5)} // -90 degrees about x: z up becomes y up
	}
	d.Nodes = []*gltf.Node{
		{Name: "model units", Children: []int{1}, Rotation: turn, Scale: [3]float64{scale, scale, scale}, Translation: [3]float64{}},
		{Name: f.line(), Mesh: gltf.Index(0), Rotation: [4]float64{0, 0, 0, 1}, Scale: [3]float64{1, 1, 1}, Translation: [3]float64{centre.X, centre.Y, centre.Z}},
	}
	d.Scenes[0].Nodes = []int{0}
	d.Scenes[0].Name = f.line()
	e := gltf.NewEncoder(w)
	e.AsBinary = true
	return e.Encode(d)
}
