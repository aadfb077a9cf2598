package meshio_test

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/meshio"
)

// wavyTorus has about n triangles over n/2 vertices and no symmetry that would
// make coordinates short.
func wavyTorus(n int) (points []r3.Vec, faces [][3]int32) {
	side := int(math.Sqrt(float64(n) / 2))
	at := func(i, j int) int32 { return int32(i%side*side + j%side) }
	for i := range side {
		for j := range side {
			u, v := 2*math.Pi*float64(i)/float64(side), 2*math.Pi*float64(j)/float64(side)
			r := 10 + math.Sin(7*u)
			w := 3 + 0.1*math.Cos(11*v)
			points = append(points, vec((r+w*math.Cos(v))*math.Cos(u), (r+w*math.Cos(v))*math.Sin(u), w*math.Sin(v)))
		}
	}
	for i := range side {
		for j := range side {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			faces = append(faces, [3]int32{a, b, c}, [3]int32{a, c, d})
		}
	}
	return points, faces
}

const million = 1_000_000

// benchmarkRead reads the file again and again, measuring time, allocations and the
// peak of the heap.
func benchmarkRead(b *testing.B, name string, data []byte) {
	path := filepath.Join(b.TempDir(), name)
	if err := os.WriteFile(path, data, 0o644); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(data)))
	data = nil
	runtime.GC()
	peak := watchHeap()
	b.ReportAllocs()
	triangles := 0
	for b.Loop() {
		m, err := meshio.Read(b.Context(), path, meshio.Options{})
		if err != nil {
			b.Fatal(err)
		}
		triangles = 0
		for _, p := range m.Parts {
			triangles += len(p.Mesh.Triangles())
		}
	}
	b.ReportMetric(float64(peak())/(1<<20), "peak-MB")
	b.ReportMetric(float64(triangles), "triangles")
}

// watchHeap samples the heap until the returned function asks for the peak.
func watchHeap() func() uint64 {
	var peak atomic.Uint64
	stop := make(chan struct{})
	go func() {
		for {
			var s runtime.MemStats
			runtime.ReadMemStats(&s)
			if s.HeapAlloc > peak.Load() {
				peak.Store(s.HeapAlloc)
			}
			select {
			case <-stop:
				return
			case <-time.After(5 * time.Millisecond):
			}
		}
	}()
	return func() uint64 { close(stop); return peak.Load() }
}

func BenchmarkReadGLBMillion(b *testing.B) {
	points, faces := wavyTorus(million)
	f := newGLTF()
	pos := accessorOf(f, "VEC3", flat32(points))
	var order []uint32
	for _, t := range faces {
		order = append(order, uint32(t[0]), uint32(t[1]), uint32(t[2]))
	}
	f.add(object{"mesh": f.mesh("torus", object{"attributes": object{"POSITION": pos}, "indices": accessorOf(f, "SCALAR", order)})})
	benchmarkRead(b, "million.glb", f.glb())
}

// Exporters with a normal per face give every corner a vertex of its own.
func BenchmarkReadGLBMillionUnshared(b *testing.B) {
	points, faces := wavyTorus(million)
	f := newGLTF()
	var corners []r3.Vec
	for _, t := range faces {
		corners = append(corners, points[t[0]], points[t[1]], points[t[2]])
	}
	f.add(object{"mesh": f.mesh("torus", object{"attributes": object{"POSITION": accessorOf(f, "VEC3", flat32(corners))}})})
	benchmarkRead(b, "million.glb", f.glb())
}

func flat32(points []r3.Vec) []float32 {
	flat := make([]float32, 0, 3*len(points))
	for _, p := range points {
		flat = append(flat, float32(p.X), float32(p.Y), float32(p.Z))
	}
	return flat
}

func BenchmarkReadOBJMillion(b *testing.B) { benchmarkRead(b, "million.obj", objOf(million, 'f', 9)) }

// Seventeen digits need the slow way to read numbers.
func BenchmarkReadOBJMillionLongNumbers(b *testing.B) {
	benchmarkRead(b, "million.obj", objOf(million, 'g', -1))
}

func objOf(n int, form byte, precision int) []byte {
	points, faces := wavyTorus(n)
	var buf bytes.Buffer
	w := bufio.NewWriter(&buf)
	fmt.Fprintln(w, "o torus")
	var line []byte
	for _, p := range points {
		line = append(line[:0], 'v')
		for _, c := range [...]float64{p.X, p.Y, p.Z} {
			line = strconv.AppendFloat(append(line, ' '), c, form, precision, 64)
		}
		w.Write(append(line, '\n'))
	}
	for _, t := range faces {
		fmt.Fprintf(w, "f %d//%d %d//%d %d//%d\n", t[0]+1, t[0]+1, t[1]+1, t[1]+1, t[2]+1, t[2]+1)
	}
	w.Flush()
	return buf.Bytes()
}

func BenchmarkReadSTLMillion(b *testing.B) {
	points, faces := wavyTorus(million)
	var triangles [][3]r3.Vec
	for _, t := range faces {
		triangles = append(triangles, [3]r3.Vec{points[t[0]], points[t[1]], points[t[2]]})
	}
	benchmarkRead(b, "million.stl", binarySTL("", uint32(len(triangles)), triangles...))
}

func BenchmarkReadPLYMillion(b *testing.B) {
	points, faces := wavyTorus(million)
	s := soup{points: points}
	for _, t := range faces {
		s.faces = append(s.faces, t[:])
	}
	benchmarkRead(b, "million.ply", writePLY(s, "ascii", nil))
}
