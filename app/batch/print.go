package batch

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/app/doc"
	"pintle/fit/mesh"
)

// table prints lines of cells in columns as wide as their widest cell. Columns
// of figures are set right.
type table struct {
	right []bool // by column
	rows  [][]string
}

func (t *table) row(cells ...string) { t.rows = append(t.rows, cells) }

func (t *table) String() string {
	var width []int
	for _, r := range t.rows {
		for i, c := range r {
			if i == len(width) {
				width = append(width, 0)
			}
			width[i] = max(width[i], utf8.RuneCountInString(c))
		}
	}
	var b strings.Builder
	for _, r := range t.rows {
		var line strings.Builder
		for i, c := range r {
			pad := strings.Repeat(" ", width[i]-utf8.RuneCountInString(c))
			if i > 0 {
				line.WriteString("  ")
			}
			if i < len(t.right) && t.right[i] {
				line.WriteString(pad + c)
			} else {
				line.WriteString(c + pad)
			}
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
	return b.String()
}

// pairs is a table of names and values.
type pairs struct{ table }

func (p *pairs) add(name, format string, args ...any) {
	p.row(name, fmt.Sprintf(format, args...))
}

// figure returns v to six significant digits, or a dash where it does not exist.
func figure(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "-"
	}
	return strconv.FormatFloat(v, 'g', 6, 64)
}

func length(v float64, unit mesh.Unit) string {
	return strings.TrimSpace(figure(v) + " " + string(unit))
}

func power(v float64, unit mesh.Unit, n string) string {
	if unit == "" {
		return figure(v)
	}
	return figure(v) + " " + string(unit) + n
}

func angle(rad float64) string {
	if math.IsNaN(rad) || math.IsInf(rad, 0) {
		return "-"
	}
	return doc.AngleText(rad)
}

func vector(v r3.Vec) string {
	return fmt.Sprintf("%s, %s, %s", figure(v.X), figure(v.Y), figure(v.Z))
}

func milliseconds(ms float64) string { return strconv.FormatFloat(ms, 'f', 1, 64) + " ms" }

// printFindings returns one line for each finding.
func printFindings(list []doc.Finding) string {
	var b strings.Builder
	for _, f := range list {
		fmt.Fprintf(&b, "%-5s  %s\n", f.Severity, f.Text)
	}
	return b.String()
}
