package meshio

import (
	"bytes"
	"fmt"
	"io"
)

const (
	blockSize = 256 << 10 // between two looks at the context
	maxLine   = 8 << 20
)

// window slides over a stretch of the file.
type window struct {
	j     *job
	store []byte
	buf   []byte // read and not yet consumed; lies in store
	next  int64  // file offset of the first byte that is not in buf
	end   int64
}

func newWindow(j *job, from int64) window {
	return window{j: j, store: make([]byte, min(blockSize, max(j.size-from, 1))), next: from, end: j.size}
}

// offset is the file offset of the first unconsumed byte.
func (w *window) offset() int64 { return w.next - int64(len(w.buf)) }

// fill reads on behind what is in buf and returns io.EOF when nothing is left.
func (w *window) fill() error {
	if w.next >= w.end {
		return io.EOF
	}
	if err := w.j.tick(readShare*float64(w.next)/float64(w.j.size), "Reading"); err != nil {
		return err
	}
	if len(w.buf) == len(w.store) && len(w.buf) > 0 {
		w.store = append(make([]byte, 0, 2*len(w.store)), w.buf...)
		w.store = w.store[:cap(w.store)]
	} else {
		copy(w.store, w.buf)
	}
	have := len(w.buf)
	n := min(int64(len(w.store)-have), w.end-w.next)
	if got, err := w.j.data.ReadAt(w.store[have:have+int(n)], w.next); int64(got) < n {
		return w.j.ioError(w.next+int64(got), err)
	}
	w.buf = w.store[:have+int(n)]
	w.next += n
	return nil
}

// take returns the next n bytes, valid until the next call; n is at most
// blockSize. It returns io.EOF where the file holds fewer.
func (w *window) take(n int) ([]byte, error) {
	for len(w.buf) < n {
		if err := w.fill(); err != nil {
			return nil, err
		}
	}
	b := w.buf[:n]
	w.buf = w.buf[n:]
	return b, nil
}

// skip passes over n bytes without reading them all.
func (w *window) skip(n int64) error {
	if n <= int64(len(w.buf)) {
		w.buf = w.buf[n:]
		return nil
	}
	to := w.offset() + n
	if to < 0 || to > w.end {
		return io.EOF
	}
	w.buf, w.next = nil, to
	return nil
}

// lines yields the lines of a text file. LF, CRLF or CR end them; the first
// line settles which.
type lines struct {
	window
	number    int  // of the line last returned, from 1
	count     int  // lines consumed
	joins     bool // a backslash at the line's end continues it
	separator byte
	joined    []byte
}

func newLines(j *job) (*lines, error) {
	l := &lines{window: newWindow(j, 0), separator: '\n'}
	for len(l.buf) <= maxLine {
		if err := l.fill(); err == io.EOF {
			break
		} else if err != nil {
			return nil, err
		}
		if bytes.IndexByte(l.buf, '\n') >= 0 || bytes.IndexByte(bytes.TrimRight(l.buf, "\r"), '\r') >= 0 {
			break // the first line's end is in sight, whole
		}
	}
	if isUTF16(l.buf) {
		return nil, j.utf16()
	}
	l.buf = trimBOM(l.buf)
	if endsInCR(l.buf) {
		l.separator = '\r'
	}
	return l, nil
}

// endsInCR says whether the first line ends in a lone CR.
func endsInCR(b []byte) bool {
	i := bytes.IndexAny(b, "\r\n")
	if i < 0 || b[i] == '\n' {
		return false
	}
	rest := bytes.TrimLeft(b[i:min(i+4, len(b))], "\r") // CR CR LF occurs
	return len(rest) == 0 || rest[0] != '\n'
}

// place names the line last returned.
func (l *lines) place() string { return fmt.Sprintf("line %d", l.number) }

// read returns the next line without its end, valid until the next call, or
// io.EOF.
func (l *lines) read() ([]byte, error) {
	l.number = l.count + 1
	line, err := l.physical()
	if err != nil || !l.joins || !continued(line) {
		return line, err
	}
	l.joined = l.joined[:0]
	for err == nil && continued(line) {
		line = bytes.TrimSuffix(line, []byte("\r"))
		l.joined = append(append(l.joined, line[:len(line)-1]...), ' ')
		if len(l.joined) > maxLine {
			return nil, l.tooLong()
		}
		line, err = l.physical()
	}
	if err != nil && err != io.EOF {
		return nil, err
	}
	l.joined = append(l.joined, line...)
	return l.joined, nil
}

func continued(line []byte) bool {
	n := len(line)
	return n > 0 && (line[n-1] == '\\' || n > 1 && line[n-1] == '\r' && line[n-2] == '\\')
}

func (l *lines) physical() ([]byte, error) {
	i := bytes.IndexByte(l.buf, l.separator)
	for i < 0 {
		have := len(l.buf)
		if have > maxLine {
			return nil, l.tooLong()
		}
		err := l.fill()
		if err == io.EOF && have > 0 {
			line := l.buf
			l.buf = nil
			l.count++
			return line, nil
		}
		if err != nil {
			return nil, err
		}
		if i = bytes.IndexByte(l.buf[have:], l.separator); i >= 0 {
			i += have
		}
	}
	if i > maxLine {
		return nil, l.tooLong()
	}
	line := l.buf[:i]
	l.buf = l.buf[i+1:]
	l.count++
	return line, nil
}

func (l *lines) tooLong() error {
	l.number = l.count + 1
	return l.j.fail(l.place(), fmt.Sprintf("the line is longer than %d bytes", maxLine), remedyExport)
}
