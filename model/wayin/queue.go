package wayin

import "math/bits"

// queue is a monotone priority queue of nodes: buckets of one quantum of cost
// each, in four levels of 256, so that a node moves at most three times before
// it is taken. Nodes within one quantum come out in no particular order. A node
// may stand in it more than once; whoever takes it tells the stale entries.
type queue struct {
	scale float64 // quanta per unit of cost
	last  uint32  // quantum of what was taken last
	open  bool    // the bucket of last is being read
	level [levels][slots][]entry
	used  [levels][slots / 64]uint64 // slots that are not empty
}

const (
	digit  = 8
	slots  = 1 << digit
	levels = 32 / digit
)

// entry is a quantum and a node.
type entry struct {
	key  uint32
	node int32
}

// reset empties the queue and sets the quantum.
func (q *queue) reset(quantum float64) {
	q.scale, q.last, q.open = 1/quantum, 0, false
	for l := range q.level {
		for s := range q.level[l] {
			q.level[l][s] = q.level[l][s][:0]
		}
		q.used[l] = [slots / 64]uint64{}
	}
}

// key returns the quantum a cost falls in; costs beyond the last quantum share
// it.
func (q *queue) key(cost float64) uint32 {
	if k := cost * q.scale; k < 1<<32-1 {
		return uint32(k)
	}
	return 1<<32 - 1
}

// push adds a node at a quantum not below that of the one taken last.
func (q *queue) push(k uint32, node int32) { q.put(entry{k, node}) }

func (q *queue) put(e entry) {
	l := 0
	if d := e.key ^ q.last; d != 0 {
		l = (bits.Len32(d) - 1) / digit
	}
	s := e.key >> (l * digit) & (slots - 1)
	q.level[l][s] = append(q.level[l][s], e)
	q.used[l][s/64] |= 1 << (s % 64)
}

// next moves to the next quantum that holds anything and returns its bucket,
// which grows while nodes of that quantum are pushed; nil when the queue is
// empty. The bucket is done with at the next call.
func (q *queue) next() *[]entry {
	if q.open {
		s := q.last & (slots - 1)
		q.level[0][s] = q.level[0][s][:0]
		q.used[0][s/64] &^= 1 << (s % 64)
	}
	q.open = true
	for q.advance() {
		if b := &q.level[0][q.last&(slots-1)]; len(*b) > 0 {
			return b
		}
	}
	return nil
}

// advance moves to the next bucket that holds anything and spreads it over the
// levels below.
func (q *queue) advance() bool {
	for l := range levels {
		s, ok := first(&q.used[l])
		if !ok {
			continue
		}
		if l == 0 {
			q.last = q.last&^(slots-1) | uint32(s)
			return true
		}
		b := q.level[l][s]
		q.level[l][s] = b[:0]
		q.used[l][s/64] &^= 1 << (s % 64)
		least := b[0].key
		for _, e := range b {
			least = min(least, e.key)
		}
		q.last = least
		for _, e := range b {
			q.put(e)
		}
		return true
	}
	return false
}

// first returns the lowest set bit.
func first(set *[slots / 64]uint64) (int, bool) {
	for i, w := range set {
		if w != 0 {
			return i*64 + bits.TrailingZeros64(w), true
		}
	}
	return 0, false
}
