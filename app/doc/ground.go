package doc

import "strings"

// GroundWords are names that modellers give to what stays (common practice, no
// published source), the surest first.
func GroundWords() []string {
	return []string{"ground", "world", "base", "pedestal", "chassis", "frame", "abutment", "torso", "pelvis", "trunk", "body", "hip", "palm", "mount"}
}

// NamedGround returns the number of the part whose name says that it stays: of
// the surest word that just one part bears. Words that moving parts bear as well
// do not count. It is false where no name tells.
func (s *Session) NamedGround() (part int, ok bool) {
	for _, word := range GroundWords() {
		if word == "frame" || word == "body" || word == "mount" {
			continue
		}
		n := 0
		for i, p := range s.Parts {
			if strings.Contains(strings.ToLower(p.Name), word) {
				part, n = i, n+1
			}
		}
		if n == 1 {
			return part, true
		}
	}
	return -1, false
}
