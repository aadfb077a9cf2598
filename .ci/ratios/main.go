// Command ratios measures Pintle side by side with the programs of a folder of
// reference libraries, on the same inputs in one run:
//
//	go run ./.ci/ratios PEERS [hinge] [rays] [fits] [own] [cores]
//
// PEERS holds bin/fcl_hinge, bin/embree_rays and bin/ceres_fit, which answer in
// JSON, and gen/out with the inputs and their closed-form truth. The parts own
// (times that have no counterpart) and cores (the same results on one core and
// on two) need none of it; PEERS may be - for them, and they are all that is
// done then.
package main

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"text/tabwriter"
	"time"

	"gonum.org/v1/gonum/spatial/r3"
)

type vec [3]float64

func (v vec) r3() r3.Vec { return r3.Vec{X: v[0], Y: v[1], Z: v[2]} }

// bench is one run.
type bench struct {
	dir   string
	truth truth
	out   *tabwriter.Writer
}

// truth is what gen/out/truth.json says of the inputs.
type truth struct {
	Points map[string]struct{ File, Kind string }
	Hinge  map[string]struct {
		Static, Moving            string
		Origin, Axis              vec
		Lower, Upper, Plus, Minus float64 // degrees
	}
	Parts map[string]struct{ File string }
}

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "ratios:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) == 0 {
		return fmt.Errorf("give the folder of the reference programs")
	}
	b := bench{dir: args[0], out: tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', tabwriter.AlignRight)}
	want, alone := args[1:], args[0] == "-"
	if !alone {
		if err := b.readTruth(); err != nil {
			return err
		}
	}
	runtime.GOMAXPROCS(1) // the reference programs use one thread
	for _, part := range []struct {
		name string
		peer bool
		do   func() error
	}{{"hinge", true, b.hinge}, {"rays", true, b.rays}, {"fits", true, b.fits}, {"own", false, b.own}, {"cores", false, b.cores}} {
		if len(want) > 0 && !slices.Contains(want, part.name) || alone && part.peer {
			continue
		}
		if err := part.do(); err != nil {
			return fmt.Errorf("%s: %w", part.name, err)
		}
		b.out.Flush()
		fmt.Println()
	}
	return nil
}

func (b *bench) readTruth() error {
	text, err := os.ReadFile(b.input("truth.json"))
	if err != nil {
		return fmt.Errorf("reading the truth (make data writes it): %w", err)
	}
	if err := json.Unmarshal(text, &b.truth); err != nil {
		return fmt.Errorf("reading the truth: %w", err)
	}
	return nil
}

func (b *bench) input(name string) string { return filepath.Join(b.dir, "gen", "out", name) }

// ask runs a reference program and reads its answer.
func (b *bench) ask(answer any, program string, args ...any) error {
	text := make([]string, len(args))
	for i, a := range args {
		text[i] = fmt.Sprint(a)
	}
	out, err := exec.Command(filepath.Join(b.dir, "bin", program), text...).Output()
	if err != nil {
		return fmt.Errorf("running %s: %w", program, err)
	}
	if err := json.Unmarshal(out, answer); err != nil {
		return fmt.Errorf("reading the answer of %s: %w", program, err)
	}
	return nil
}

func (b *bench) row(cells ...any) {
	for _, c := range cells {
		if f, ok := c.(float64); ok {
			fmt.Fprintf(b.out, "%.3g\t", f)
			continue
		}
		fmt.Fprintf(b.out, "%v\t", c)
	}
	fmt.Fprintln(b.out)
}

// median returns the median time of some calls in milliseconds: enough of
// them to fill a quarter of a second, three at least.
func median(do func()) float64 {
	var ms []float64
	for total := 0.0; len(ms) < 3 || total < 250 && len(ms) < 1000; {
		start := time.Now()
		do()
		ms = append(ms, float64(time.Since(start).Nanoseconds())/1e6)
		total += ms[len(ms)-1]
	}
	slices.Sort(ms)
	return ms[len(ms)/2]
}
