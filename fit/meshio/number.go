package meshio

import (
	"bytes"
	"encoding/binary"
	"math"
	"strconv"
)

func le32(b []byte) uint32 { return binary.LittleEndian.Uint32(b) }

func le16(b []byte) uint16 { return binary.LittleEndian.Uint16(b) }

// space tells which bytes part fields within a line. NUL counts, since padded
// text occurs; line ends do not reach here.
func space(c byte) bool {
	return c == ' ' || c == '\t' || c == '\r' || c == '\v' || c == '\f' || c == 0
}

// field returns the first field of line and what follows it; an empty field
// means that the line is used up.
func field(line []byte) (word, rest []byte) {
	i := 0
	for i < len(line) && space(line[i]) {
		i++
	}
	k := i
	for k < len(line) && !space(line[k]) {
		k++
	}
	return line[i:k], line[k:]
}

// pow10 holds the powers of ten that float64 represents exactly.
var pow10 = [...]float64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// parseFloat reads a decimal number to the nearest float64. Plain numbers whose
// digits fit into 53 bits and whose power of ten is exact take one correctly
// rounded operation (W. D. Clinger, How to read floating point numbers
// accurately, PLDI 1990); the rest goes to strconv. The spellings that C
// libraries give to NaN and infinity are numbers here; what is too large is
// infinite.
func parseFloat(s []byte) (v float64, ok bool) {
	i, neg := 0, false
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		neg = s[i] == '-'
		i++
	}
	var mant uint64
	digits, exp := 0, 0
	for ; i < len(s) && s[i]-'0' < 10; i++ {
		mant = mant*10 + uint64(s[i]-'0')
		digits++
	}
	if i < len(s) && s[i] == '.' {
		i++
		from := i
		for ; i < len(s) && s[i]-'0' < 10; i++ {
			mant = mant*10 + uint64(s[i]-'0')
			digits++
		}
		exp = from - i
	}
	if digits == 0 || digits > 19 {
		return parseFloatSlow(s)
	}
	if i < len(s) {
		e, ok := parseExponent(s[i:])
		if !ok {
			return parseFloatSlow(s)
		}
		exp += e
	}
	if mant >= 1<<53 || exp < -22 || exp > 22 {
		return parseFloatSlow(s)
	}
	v = float64(mant)
	if exp < 0 {
		v /= pow10[-exp]
	} else {
		v *= pow10[exp]
	}
	if neg {
		v = -v
	}
	return v, true
}

// parseExponent reads "e-05" in short; other forms are left to the slow path.
func parseExponent(s []byte) (e int, ok bool) {
	if len(s) < 2 || len(s) > 5 || s[0]|0x20 != 'e' {
		return 0, false
	}
	s = s[1:]
	neg := s[0] == '-'
	if neg || s[0] == '+' {
		s = s[1:]
	}
	if len(s) == 0 {
		return 0, false
	}
	for _, c := range s {
		if c-'0' > 9 {
			return 0, false
		}
		e = e*10 + int(c-'0')
	}
	if neg {
		e = -e
	}
	return e, true
}

// maxNumber is longer than any float64 that a program writes.
const maxNumber = 512

func parseFloatSlow(s []byte) (float64, bool) {
	if len(s) == 0 || len(s) > maxNumber || bytes.IndexByte(s, '_') >= 0 {
		return 0, false
	}
	if v, err := strconv.ParseFloat(string(s), 64); err == nil || math.IsInf(v, 0) {
		return v, true
	}
	return parseNonFinite(s)
}

// parseNonFinite reads what C libraries print for numbers that are none:
// "-nan(ind)", "1.#QNAN", "1.#INF", "-1.#IND".
func parseNonFinite(s []byte) (float64, bool) {
	low := bytes.ToLower(bytes.TrimLeft(s, "+-"))
	switch {
	case bytes.HasPrefix(low, []byte("nan(")), bytes.HasPrefix(low, []byte("1.#")):
		return math.NaN(), true
	case bytes.Equal(low, []byte("nan")):
		return math.NaN(), true
	}
	return 0, false
}

// parseInt reads a decimal integer of at most 18 digits.
func parseInt(s []byte) (n int64, ok bool) {
	neg := false
	if len(s) > 0 && (s[0] == '-' || s[0] == '+') {
		neg = s[0] == '-'
		s = s[1:]
	}
	if len(s) == 0 || len(s) > 18 {
		return 0, false
	}
	for _, c := range s {
		if c-'0' > 9 {
			return 0, false
		}
		n = n*10 + int64(c-'0')
	}
	if neg {
		n = -n
	}
	return n, true
}
