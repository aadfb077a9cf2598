package find

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"pintle/fit/mesh"
)

// Names suggests a name for every joint of a result: its child's, without what
// exporters hang on; with "joint" where that is only a number of a link; with
// its side where a mirrored twin exists and the name does not tell. A joint that
// closes a loop also names its parent. All names differ.
func Names(parts []mesh.Part, res Result, up mesh.Up) []string {
	sides := Sides(parts, res, up)
	out := make([]string, len(res.Joints))
	taken := map[string]bool{}
	for i, c := range res.Joints {
		child := parts[c.Child].Name
		name := jointName(child)
		if c.Loop {
			name = fmt.Sprintf("%s to %s", cleaned(child), cleaned(parts[c.Parent].Name))
		}
		if sides[i] != Middle && saysSide(child) == Middle {
			name += " " + string(sides[i])
		}
		free := name
		for k := 2; taken[free]; k++ {
			free = fmt.Sprintf("%s %d", name, k)
		}
		taken[free], out[i] = true, free
	}
	return out
}

// jointName is the name of the joint that carries a part.
func jointName(part string) string {
	name := cleaned(part)
	if isNumber(name) {
		return name + " joint"
	}
	return name
}

// cleaned is a part's name without what exporters hang on.
func cleaned(name string) string {
	out := strings.TrimSpace(name)
	for _, end := range []string{".stl", ".obj", ".ply", ".glb", ".gltf", "visual", "collision", "mesh", "geometry", "geom", "link"} {
		if n := len(out) - len(end); n > 0 && strings.EqualFold(out[n:], end) {
			if short := strings.TrimRight(out[:n], " _-."); short != "" && (end[0] == '.' || len(short) < n) {
				out = short
			}
		}
	}
	if strings.IndexFunc(out, unicode.IsLetter) < 0 {
		return strings.TrimSpace(name)
	}
	return out
}

// isNumber reports whether a name tells no more than which of many a part is.
func isNumber(name string) bool {
	words := wordsOf(name)
	return !slices.ContainsFunc(words, func(w string) bool {
		return strings.IndexFunc(w, unicode.IsDigit) < 0 && !slices.Contains([]string{"link", "part", "solid", "body", "mesh", "shell", "group", "object", "item", "component"}, w)
	})
}

// wordsOf splits a name into words, in lower case: at what is no letter or digit
// and between the two, and where a capital follows a small letter.
func wordsOf(name string) []string {
	var out []string
	word := []rune{}
	end := func() {
		if len(word) > 0 {
			out = append(out, strings.ToLower(string(word)))
			word = word[:0]
		}
	}
	for _, r := range name {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			end()
			continue
		}
		if n := len(word); n > 0 && (unicode.IsDigit(word[n-1]) != unicode.IsDigit(r) || unicode.IsLower(word[n-1]) && unicode.IsUpper(r)) {
			end()
		}
		word = append(word, r)
	}
	end()
	return out
}

// saysSide is the side that a name tells, by whole words.
func saysSide(name string) Side {
	var left, right bool
	for _, w := range wordsOf(name) {
		switch w {
		case "left", "l", "lh", "lf", "fl", "lr", "rl", "hl", "bl", "lt":
			left = true
		case "right", "r", "rh", "rf", "fr", "rr", "hr", "br", "rt":
			right = true
		}
	}
	switch {
	case left && !right:
		return Left
	case right && !left:
		return Right
	}
	return Middle
}
