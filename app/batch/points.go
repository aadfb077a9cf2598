package batch

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// maxPoints bounds a text file of points: 20 million take 480 MB.
const maxPoints = 20_000_000

// readPoints reads rows of x y z, separated by blanks, tabs, commas or
// semicolons. Empty lines and what stands behind # are left out. name is for
// messages.
func readPoints(in io.Reader, name string) ([]r3.Vec, error) {
	var points []r3.Vec
	s := bufio.NewScanner(in)
	s.Buffer(make([]byte, 0, 1<<16), 1<<20)
	line := 0
	for s.Scan() {
		line++
		text, _, _ := strings.Cut(s.Text(), "#")
		if line == 1 {
			text = strings.TrimPrefix(text, "\ufeff")
		}
		fields := strings.FieldsFunc(text, func(r rune) bool {
			return r == ' ' || r == '\t' || r == ',' || r == ';' || r == '\r'
		})
		if len(fields) == 0 {
			continue
		}
		p, err := readPoint(fields)
		if err != nil {
			return nil, fmt.Errorf("%s, line %d: %w", name, line, err)
		}
		if len(points) == maxPoints {
			return nil, fmt.Errorf("%s, line %d: there are more than %d points", name, line, maxPoints)
		}
		points = append(points, p)
	}
	switch err := s.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return nil, fmt.Errorf("%s, line %d: the line is longer than 1 MB; this is no text file of points", name, line+1)
	case err != nil:
		return nil, fmt.Errorf("%s: %w", name, err)
	case len(points) == 0:
		return nil, fmt.Errorf("%s: there are no points; each row needs x y z", name)
	}
	return points, nil
}

func readPoint(fields []string) (r3.Vec, error) {
	if len(fields) != 3 {
		return r3.Vec{}, fmt.Errorf("there are %d values, each row needs three: x y z", len(fields))
	}
	var c [3]float64
	for i, f := range fields {
		v, err := strconv.ParseFloat(f, 64)
		switch {
		case err != nil && !errors.Is(err, strconv.ErrRange):
			return r3.Vec{}, fmt.Errorf("%.40q is not a number", f)
		case math.IsNaN(v) || math.IsInf(v, 0):
			return r3.Vec{}, fmt.Errorf("%.40q is not a finite number", f)
		}
		c[i] = v
	}
	return r3.Vec{X: c[0], Y: c[1], Z: c[2]}, nil
}

// parseVec reads a flag value x,y,z.
func parseVec(flag, text string) (r3.Vec, error) {
	fields := strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' || r == ';' })
	v, err := readPoint(fields)
	if err != nil {
		return v, usageError{fmt.Errorf("--%s %q: %w, such as 0,12.5,-3", flag, text, err)}
	}
	return v, nil
}

// parsePair reads a flag value LO:HI.
func parsePair(flag, text string) (lo, hi float64, err error) {
	a, b, found := strings.Cut(text, ":")
	lo, errLo := strconv.ParseFloat(strings.TrimSpace(a), 64)
	hi, errHi := strconv.ParseFloat(strings.TrimSpace(b), 64)
	if !found || errLo != nil || errHi != nil || math.IsNaN(lo-hi) {
		return 0, 0, usageError{fmt.Errorf("--%s %q: give two numbers of degrees, such as -30:120", flag, text)}
	}
	return lo, hi, nil
}
