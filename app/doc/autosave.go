package doc

import (
	"sync"
	"time"
)

// Autosaver writes recovery copies in the background. Changes that come while
// one is due are covered by it, so a copy is at most about one delay old
// however fast the user works. It is safe for concurrent use.
type Autosaver struct {
	recovery *Recovery
	delay    time.Duration
	failed   func(error)

	mu      sync.Mutex
	want    *wanted // newest state that is not on disk yet; nil: none
	gone    bool
	wake    chan struct{}
	ended   chan struct{}
	writing sync.Mutex // held while files change
}

// wanted is what shall be on disk: a copy of doc, or none.
type wanted struct {
	clear bool
	doc   Document
	path  string
}

// NewAutosaver starts writing copies through r, which it owns from now on.
// failed is told of each failure, on another goroutine; nil: nobody is.
func NewAutosaver(r *Recovery, delay time.Duration, failed func(error)) *Autosaver {
	if failed == nil {
		failed = func(error) {}
	}
	a := &Autosaver{recovery: r, delay: delay, failed: failed, wake: make(chan struct{}, 1), ended: make(chan struct{})}
	go a.loop()
	return a
}

// Changed says that the document is now d and not saved; path is where it was
// saved before, or "". It returns at once.
func (a *Autosaver) Changed(d Document, path string) { a.set(&wanted{doc: d, path: path}) }

// Saved says that the document is on disk, or given up: the copy goes.
func (a *Autosaver) Saved() {
	a.set(&wanted{clear: true})
	_ = a.Flush()
}

func (a *Autosaver) set(w *wanted) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.gone {
		return
	}
	a.want = w
	select {
	case a.wake <- struct{}{}:
	default:
	}
}

// Flush brings the disk up to date now and returns when it is. An error has
// been told of already.
func (a *Autosaver) Flush() error {
	a.writing.Lock()
	defer a.writing.Unlock()
	a.mu.Lock()
	w := a.want
	a.want = nil
	a.mu.Unlock()
	if w == nil {
		return nil
	}
	var err error
	if w.clear {
		err = a.recovery.Clear()
	} else {
		err = a.recovery.Write(w.doc, w.path)
	}
	if err != nil {
		a.failed(err)
	}
	return err
}

// Close ends the autosaver at a regular end of the program: the copy and the
// claim are given up.
func (a *Autosaver) Close() error {
	a.mu.Lock()
	if a.gone {
		a.mu.Unlock()
		return nil
	}
	a.gone = true
	a.want = nil
	close(a.wake)
	a.mu.Unlock()
	<-a.ended
	return a.recovery.Close()
}

// loop writes one delay after a change; further changes meanwhile are covered
// by that write.
func (a *Autosaver) loop() {
	defer close(a.ended)
	for range a.wake {
		due := time.NewTimer(a.delay)
		for waiting := true; waiting; {
			select {
			case <-due.C:
				_ = a.Flush()
				waiting = false
			case _, waiting = <-a.wake: // false: closing
			}
		}
		due.Stop()
	}
}
