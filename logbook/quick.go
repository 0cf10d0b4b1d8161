package logbook

import (
	"encoding/binary"
	"math"

	"example.org/headpond/model/quantity"
)

// Nearly every entry is a round in the encoder's own form, and reading a book is reading rounds. quick reads that form alone, in
// a third of the library's time. Whatever it does not expect (another kind, a key of a newer version, a number in another form, a
// key twice, anything spoilt) it leaves to the library, whose answer is then the one that counts. A fuzz target and a property
// hold the two together.

// quick fills b from the CBOR of a round; false leaves the entry to the library, with b half filled.
func (b *body) quick(payload []byte) bool {
	r := quickReader{rest: payload}
	last := uint64(0)
	for range r.size(majorMap) {
		key := r.head(majorUint)
		if key <= last { // the encoder sorts, so that a key which stands twice is found
			return false
		}
		last = key
		if !b.quickField(&r, key) || r.failed {
			return false
		}
	}
	return !r.failed && len(r.rest) == 0 && b.Kind == KindRound
}

// quickField reads the value of one key.
func (b *body) quickField(r *quickReader, key uint64) bool {
	switch key {
	case 1:
		b.Kind = KindRound
		return r.head(majorUint) == uint64(KindRound)
	case 2:
		b.Time = r.stamp()
	case 3:
		b.Written = r.stamp()
	case 4:
		b.Writer = r.bytes()
	case 5:
		b.Seq = r.head(majorUint)
	case 6:
		b.Prev = r.bytes()
	case 7:
		b.By = r.text()
	case 8:
		b.Note = r.text()
	case 10:
		list := make([]string, r.size(majorArray))
		for i := range list {
			list[i] = r.text()
		}
		b.Running = &list
	case 11:
		b.Values = make(map[quantity.Key]float64, r.size(majorMap))
		return fillQuick(r, b.Values, r.float)
	case 12:
		b.Words = make(map[quantity.Key]string, r.size(majorMap))
		return fillQuick(r, b.Words, r.text)
	case 13:
		b.Typed = make(map[quantity.Key]string, r.size(majorMap))
		return fillQuick(r, b.Typed, r.text)
	case 14:
		b.Extra = make(map[string]string, r.size(majorMap))
		return fillQuick(r, b.Extra, r.text)
	case 15:
		b.Confirmed = r.yes()
	default:
		return false
	}
	return true
}

// fillQuick reads the pairs of the map whose size was read last; false where a key stands twice.
func fillQuick[K ~string, V any](r *quickReader, m map[K]V, value func() V) bool {
	n := r.last
	for range n {
		k := K(r.text())
		m[k] = value()
		if r.failed {
			return false
		}
	}
	return len(m) == n
}

// Major types and simple values of CBOR (RFC 8949, section 3).
const (
	majorUint, majorNegative, majorBytes, majorText, majorArray, majorMap = 0, 1, 2, 3, 4, 5

	simpleFalse, simpleTrue    = 0xf4, 0xf5
	floatHalf, floatSingle     = 0xf9, 0xfa
	floatDouble                = 0xfb
	oneByteFollows, mostInHead = 24, 27
)

// quickReader takes values off the front of its rest, until one is not what was asked for.
type quickReader struct {
	rest   []byte
	last   int // the size that was read last
	failed bool
}

func (r *quickReader) fail() { r.failed, r.rest = true, nil }

// take is the next n bytes.
func (r *quickReader) take(n uint64) []byte {
	if n > uint64(len(r.rest)) {
		r.fail()
		return nil
	}
	b := r.rest[:n]
	r.rest = r.rest[n:]
	return b
}

// head reads the head of a value that must be of a major type, and returns its number.
func (r *quickReader) head(major byte) uint64 {
	if len(r.rest) == 0 || r.rest[0]>>5 != major {
		r.fail()
		return 0
	}
	low := r.rest[0] & 31
	r.rest = r.rest[1:]
	switch {
	case low < oneByteFollows:
		return uint64(low)
	case low > mostInHead:
		r.fail()
		return 0
	}
	n := uint64(0)
	for _, b := range r.take(1 << (low - oneByteFollows)) {
		n = n<<8 | uint64(b)
	}
	return n
}

// size reads how many items an array or pairs a map has. Each takes a byte at least, which bounds it.
func (r *quickReader) size(major byte) int {
	n := r.head(major)
	if n > uint64(len(r.rest)) || n > mostItems {
		r.fail()
		return 0
	}
	r.last = int(n)
	return r.last
}

// whole reads a whole number.
func (r *quickReader) whole() int64 {
	negative := len(r.rest) > 0 && r.rest[0]>>5 == majorNegative
	major := byte(majorUint)
	if negative {
		major = majorNegative
	}
	n := r.head(major)
	switch {
	case n > math.MaxInt64:
		r.fail()
		return 0
	case negative:
		return -1 - int64(n)
	}
	return int64(n)
}

func (r *quickReader) stamp() stamp {
	if r.size(majorArray) != 2 {
		r.fail()
		return stamp{}
	}
	ms, offset := r.whole(), r.whole()
	if offset < math.MinInt32 || offset > math.MaxInt32 {
		r.fail()
	}
	return stamp{MS: ms, OffsetS: int32(offset)}
}

func (r *quickReader) bytes() []byte {
	b := r.take(r.head(majorBytes))
	return append(make([]byte, 0, len(b)), b...) // the file's own bytes go with the transaction
}

func (r *quickReader) text() string {
	b := r.take(r.head(majorText))
	if s, ok := common[string(b)]; ok {
		return s
	}
	return string(b)
}

// common holds the names of readings and their words, which stand in every round and need not be made anew for each. It is never
// written to.
var common = func() map[string]string {
	m := map[string]string{}
	for _, q := range quantity.Catalogue() {
		for _, s := range append([]string{string(q.Name)}, q.Words...) {
			m[s] = s
		}
	}
	return m
}()

func (r *quickReader) yes() bool {
	b := r.take(1)
	if len(b) == 0 || b[0] != simpleTrue && b[0] != simpleFalse {
		r.fail()
		return false
	}
	return b[0] == simpleTrue
}

// float reads a number in any of the three widths.
func (r *quickReader) float() float64 {
	v := math.NaN()
	switch b := r.take(1); {
	case len(b) == 0:
	case b[0] == floatHalf:
		if b := r.take(2); len(b) == 2 {
			v = half(binary.BigEndian.Uint16(b))
		}
	case b[0] == floatSingle:
		if b := r.take(4); len(b) == 4 {
			v = float64(math.Float32frombits(binary.BigEndian.Uint32(b)))
		}
	case b[0] == floatDouble:
		if b := r.take(8); len(b) == 8 {
			v = math.Float64frombits(binary.BigEndian.Uint64(b))
		}
	}
	if math.IsNaN(v) { // no reading is
		r.fail()
	}
	return v
}

// half is the value of a number of 16 bits (RFC 8949, appendix D).
func half(bits uint16) float64 {
	exponent, fraction := int(bits>>10&0x1f), float64(bits&0x3ff)
	v := math.Inf(1)
	switch {
	case exponent == 0:
		v = math.Ldexp(fraction, -24)
	case exponent < 31:
		v = math.Ldexp(fraction+1024, exponent-25)
	case fraction != 0:
		return math.NaN()
	}
	if bits&0x8000 != 0 {
		return -v
	}
	return v
}
