package batch

import (
	"fmt"
	"slices"
	"strings"

	"pintle/fit/mesh"
)

// findParts resolves a list of part names. Each item is a part's name, or
// several separated by commas where no part has the whole as its name. The
// numbers come in the order of the list, each once.
func findParts(parts []mesh.Part, items []string) ([]int, error) {
	var out []int
	add := func(i int) {
		if !slices.Contains(out, i) {
			out = append(out, i)
		}
	}
	for _, item := range items {
		if i := partIndex(parts, item); i >= 0 {
			add(i)
			continue
		}
		for _, name := range strings.Split(item, ",") {
			i, err := findPart(parts, strings.TrimSpace(name))
			if err != nil {
				return nil, err
			}
			add(i)
		}
	}
	return out, nil
}

func partIndex(parts []mesh.Part, name string) int {
	return slices.IndexFunc(parts, func(p mesh.Part) bool { return p.Name == name })
}

// findPart returns the number of the part with that name, or an error with the
// name that comes nearest.
func findPart(parts []mesh.Part, name string) (int, error) {
	if i := partIndex(parts, name); i >= 0 {
		return i, nil
	}
	names := make([]string, len(parts))
	for i, p := range parts {
		names[i] = p.Name
	}
	return -1, fmt.Errorf("there is no part %q%s", name, suggestion(name, names))
}

// suggestion returns "; did you mean ...?" for the nearest of the names, or
// lists them where none is near and they are few.
func suggestion(name string, names []string) string {
	if near := nearest(name, names); near != "" {
		return fmt.Sprintf("; did you mean %q?", near)
	}
	const few = 12
	if len(names) == 0 || len(names) > few {
		return ""
	}
	quoted := make([]string, len(names))
	for i, n := range names {
		quoted[i] = fmt.Sprintf("%q", n)
	}
	return "; there are " + strings.Join(quoted, ", ")
}

// nearest returns the name that differs least from the one given, regardless
// of case, or "" where all differ in more than a third of their letters. One
// that contains the given name counts as near.
func nearest(name string, names []string) string {
	const longest = 200 // letters; no one mistypes more than that
	lower := []rune(strings.ToLower(name))
	if len(lower) == 0 || len(lower) > longest {
		return ""
	}
	best, least := "", 0
	for _, n := range names {
		other := []rune(strings.ToLower(n))
		if len(other) > longest {
			continue
		}
		d := distance(lower, other)
		if len(lower) >= 3 && strings.Contains(string(other), string(lower)) {
			d = min(d, 1)
		}
		if 3*d <= max(len(lower), len(other)) && (best == "" || d < least) {
			best, least = n, d
		}
	}
	return best
}

// distance is the number of letters to insert, delete, replace or swap with
// their neighbour that turns a into b (restricted Damerau-Levenshtein).
func distance(a, b []rune) int {
	before, prev, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(prev[j]+1, row[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, prev, row = prev, row, before
	}
	return prev[len(b)]
}
