package crashtest

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"slices"
)

// opKind is what a call does to the disk.
type opKind int

const (
	opSay opKind = iota // it only says something
	opWrite
	opTruncate
	opSync
	opCreate
	opLink
	opRename
	opRemove
	opSyncFolder
)

func (k opKind) String() string {
	return [...]string{"say", "write", "truncate", "sync", "create", "link", "rename", "remove", "sync folder"}[k]
}

// op is one call that changes the disk, or brings changes to it.
type op struct {
	kind opKind
	path string
	to   string // the new name
	at   int64  // where is written; the new size
	data []byte
}

func (o op) String() string {
	return fmt.Sprintf("%s of %s %s at %d, %d bytes", o.kind, filepath.Base(o.path), filepath.Base(o.to), o.at, len(o.data))
}

// inode is a file apart from its names: what is surely on the disk, and what was done since it was last synced.
type inode struct {
	safe    []byte
	pending []op
}

// now is the file as programs see it.
func (n *inode) now() []byte {
	data := slices.Clone(n.safe)
	for _, o := range n.pending {
		data = change(data, o, func(int) bool { return true })
	}
	return data
}

// change applies a write or a new size; of a write only the sectors that are wanted.
func change(data []byte, o op, sector func(at int) bool) []byte {
	if o.kind == opTruncate {
		if int(o.at) <= len(data) {
			return data[:o.at]
		}
		return append(data, make([]byte, int(o.at)-len(data))...)
	}
	if end := int(o.at) + len(o.data); end > len(data) {
		data = append(data, make([]byte, end-len(data))...)
	}
	for i := 0; i < len(o.data); {
		at := int(o.at) + i
		n := min(smallSector-at%smallSector, len(o.data)-i)
		if sector(at) {
			copy(data[at:], o.data[i:i+n])
		}
		i += n
	}
	return data
}

const (
	smallSector = 512
	largeSector = 4096
)

// disk is a folder as programs see it, as it surely is on the disk, and what was done to its names in between.
type disk struct {
	names   map[string]*inode
	safe    map[string]*inode
	pending []nameChange
}

// nameChange gives or takes a name, or both in one step.
type nameChange struct {
	from, to string
	file     *inode
}

func (c nameChange) apply(names map[string]*inode) {
	if c.from != "" {
		delete(names, c.from)
	}
	if c.to != "" {
		names[c.to] = c.file
	}
}

// newDisk is a disk that surely holds some files.
func newDisk(files map[string][]byte) *disk {
	d := &disk{names: map[string]*inode{}, safe: map[string]*inode{}}
	for name, data := range files {
		n := &inode{safe: data}
		d.names[name], d.safe[name] = n, n
	}
	return d
}

// apply does what a call does.
func (d *disk) apply(o op) error {
	n := d.names[o.path]
	if n == nil && o.kind != opSay && o.kind != opCreate && o.kind != opSyncFolder {
		return fmt.Errorf("%v: the model of the disk knows no such file", o)
	}
	rename := func(c nameChange) {
		c.apply(d.names)
		d.pending = append(d.pending, c)
	}
	switch o.kind {
	case opSay:
	case opWrite, opTruncate:
		n.pending = append(n.pending, o)
	case opSync:
		n.safe, n.pending = n.now(), nil
	case opCreate:
		rename(nameChange{to: o.path, file: &inode{}})
	case opLink:
		rename(nameChange{to: o.to, file: n})
	case opRename:
		rename(nameChange{from: o.path, to: o.to, file: n})
	case opRemove:
		rename(nameChange{from: o.path})
	case opSyncFolder:
		for _, c := range d.pending {
			c.apply(d.safe)
		}
		d.pending = nil
	}
	return nil
}

// afterCut is one of the disks that a power cut may leave at this moment: of what was not synced, any part in any order.
func (d *disk) afterCut(random *rand.Rand) map[string][]byte {
	names := maps.Clone(d.safe)
	if random.IntN(2) == 0 { // a file system with a journal keeps the order of names
		for _, c := range d.pending[:random.IntN(len(d.pending)+1)] {
			c.apply(names)
		}
	} else {
		share := random.Float64()
		for _, c := range d.pending {
			if random.Float64() < share {
				c.apply(names)
			}
		}
	}
	files := map[string][]byte{}
	done := map[*inode][]byte{}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		n := names[name]
		if _, ok := done[n]; !ok {
			done[n] = n.afterCut(random)
		}
		files[name] = done[n]
	}
	return files
}

// afterCut is what may be left of a file: any of its sizes, and of each sector any of its versions.
func (n *inode) afterCut(random *rand.Rand) []byte {
	data := slices.Clone(n.safe)
	size := len(data)
	sizes := []int{size}
	for _, o := range n.pending {
		if o.kind == opTruncate {
			size = int(o.at)
		} else {
			size = max(size, int(o.at)+len(o.data))
		}
		sizes = append(sizes, size)
	}
	share := []float64{0, 0.02, 0.1, 0.5, 0.9, 0.98, 1}[random.IntN(7)]
	unit := []int{smallSector, largeSector}[random.IntN(2)]
	for _, i := range random.Perm(len(n.pending)) {
		o := n.pending[i]
		if o.kind != opWrite {
			continue
		}
		last, keep := -1, false
		data = change(data, o, func(at int) bool {
			if at/unit != last {
				last, keep = at/unit, random.Float64() < share
			}
			return keep
		})
	}
	end := sizes[random.IntN(len(sizes))]
	return change(data, op{kind: opTruncate, at: int64(end)}, nil)
}
