package offscreen

import (
	"container/list"

	"pintle/fit/mesh"
)

// solidKey identifies a prepared mesh: meshes are immutable, so the pointer
// says which, and the feature angle decides its normals and creases.
type solidKey struct {
	mesh    *mesh.Mesh
	feature float64
}

// cache keeps prepared meshes, the most recently drawn first, within a budget
// of bytes. What one picture needs is kept even if it alone exceeds it.
type cache struct {
	budget  int
	total   int
	recent  *list.List // of *cacheEntry, most recent first
	entries map[solidKey]*list.Element
	frame   int
}

type cacheEntry struct {
	key   solidKey
	solid *solid
	bytes int
	frame int // the picture that last used it
}

func newCache(budget int) *cache {
	return &cache{budget: budget, recent: list.New(), entries: make(map[solidKey]*list.Element)}
}

// begin opens a picture: what get returns until end is not freed.
func (c *cache) begin() { c.frame++ }

// get returns the prepared mesh, preparing it if need be.
func (c *cache) get(k solidKey) *solid {
	if at, ok := c.entries[k]; ok {
		c.recent.MoveToFront(at)
		e := at.Value.(*cacheEntry)
		e.frame = c.frame
		return e.solid
	}
	e := &cacheEntry{key: k, solid: newSolid(k.mesh, k.feature), frame: c.frame}
	c.entries[k] = c.recent.PushFront(e)
	return e.solid
}

// end closes a picture: counts what has grown and frees what is over budget,
// the longest unused first.
func (c *cache) end() {
	for at := c.recent.Front(); at != nil; at = at.Next() {
		e := at.Value.(*cacheEntry)
		if e.frame != c.frame {
			break // not used in this picture, so not grown
		}
		c.total += e.solid.bytes - e.bytes
		e.bytes = e.solid.bytes
	}
	for at := c.recent.Back(); at != nil && c.total > c.budget; {
		e, before := at.Value.(*cacheEntry), at.Prev()
		if e.frame != c.frame {
			c.drop(at, e)
		}
		at = before
	}
}

func (c *cache) drop(at *list.Element, e *cacheEntry) {
	c.recent.Remove(at)
	delete(c.entries, e.key)
	c.total -= e.bytes
	e.solid.dispose()
}

// clear frees everything.
func (c *cache) clear() {
	for at := c.recent.Front(); at != nil; at = c.recent.Front() {
		c.drop(at, at.Value.(*cacheEntry))
	}
}
