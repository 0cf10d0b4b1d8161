package logbook

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"

	"github.com/fxamacker/cbor/v2"

	"example.org/headpond/model/quantity"
)

// An entry's value is a version byte, a CBOR map and a checksum (FORMAT.md). The version tells how the map is wrapped, not
// what is in it: new keys of the map need no new version.
const (
	envelopeVersion = 1
	crcLen          = 4
	minValueLen     = 1 + 1 + crcLen
	// maxValueLen bounds a value: a plant file and the longest note fit many times over.
	maxValueLen = 16 << 20
)

// castagnoli is the polynomial of CRC32C (RFC 3720, appendix B.4), the one that processors have an instruction for.
var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// Kind is what an entry is. Numbers are never reused; FORMAT.md lists them.
type Kind uint8

// The kinds of entries.
const (
	KindRound     Kind = 1
	KindEvent     Kind = 2
	KindAmendment Kind = 3
	KindPlant     Kind = 4
	KindDone      Kind = 5
)

// String names the kind; one that this version does not know is shown by its number.
func (k Kind) String() string {
	switch k {
	case KindRound:
		return "round"
	case KindEvent:
		return "event"
	case KindAmendment:
		return "amendment"
	case KindPlant:
		return "plant"
	case KindDone:
		return "upkeep done"
	}
	return fmt.Sprintf("unknown kind %d", uint8(k))
}

// stamp is an instant and the zone offset that the writer's clock showed.
type stamp struct {
	_       struct{} `cbor:",toarray"`
	MS      int64    // milliseconds since 1970-01-01T00:00:00Z
	OffsetS int32    // seconds east of UTC
}

// body is an entry as the CBOR map. The numbers are those of FORMAT.md and are never reused, also not for another kind.
// Field order here does not matter: the encoder sorts keys.
type body struct {
	Kind    Kind   `cbor:"1,keyasint"`
	Time    stamp  `cbor:"2,keyasint"`
	Written stamp  `cbor:"3,keyasint"`
	Writer  []byte `cbor:"4,keyasint"`
	Seq     uint64 `cbor:"5,keyasint"`
	Prev    []byte `cbor:"6,keyasint"`
	By      string `cbor:"7,keyasint,omitempty"`
	Note    string `cbor:"8,keyasint,omitempty"`

	Running   *[]string                `cbor:"10,keyasint,omitempty"`
	Values    map[quantity.Key]float64 `cbor:"11,keyasint,omitempty"`
	Words     map[quantity.Key]string  `cbor:"12,keyasint,omitempty"`
	Typed     map[quantity.Key]string  `cbor:"13,keyasint,omitempty"`
	Extra     map[string]string        `cbor:"14,keyasint,omitempty"`
	Confirmed bool                     `cbor:"15,keyasint,omitempty"`

	EventKind string   `cbor:"20,keyasint,omitempty"`
	Units     []string `cbor:"21,keyasint,omitempty"`
	Element   string   `cbor:"22,keyasint,omitempty"`
	Cause     string   `cbor:"23,keyasint,omitempty"`

	Target  []byte            `cbor:"30,keyasint,omitempty"`
	Changes map[string]string `cbor:"31,keyasint,omitempty"`
	Why     string            `cbor:"32,keyasint,omitempty"`

	PlantText []byte `cbor:"40,keyasint,omitempty"`

	Task string    `cbor:"50,keyasint,omitempty"`
	Walk *walkBody `cbor:"51,keyasint,omitempty"`

	unknown []string // keys and kinds of a newer version, in words; the entry's bytes keep them
}

// Lengths of fixed fields.
const (
	writerLen = 16
	hashLen   = sha256.Size
	idLen     = 16
)

var (
	encoder = must(cbor.CoreDetEncOptions().UserBufferEncMode())
	// strict refuses a key that this version does not know, which is how such a key is noticed at no cost for the others.
	strict  = must(decOptions(cbor.ExtraDecErrorUnknownField).DecMode())
	lenient = must(decOptions(cbor.ExtraDecErrorNone).DecMode())
)

// mostItems bounds the arrays and maps of an entry.
const mostItems = 1 << 16

// decOptions are bounds for what an entry may hold, so that a spoilt length cannot ask for all memory. Text that is not
// UTF-8 is let through: an entry must stay readable, and the screen shows such text harmlessly.
func decOptions(extra cbor.ExtraDecErrorCond) cbor.DecOptions {
	return cbor.DecOptions{
		DupMapKey:         cbor.DupMapKeyEnforcedAPF,
		MaxNestedLevels:   16,
		MaxArrayElements:  mostItems,
		MaxMapPairs:       mostItems,
		IndefLength:       cbor.IndefLengthForbidden,
		UTF8:              cbor.UTF8DecodeInvalid,
		ExtraReturnErrors: extra,
	}
}

// must is for options that are constants of this file: a mistake in them shows in every test.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// seal encodes a body and wraps it as the value to be kept under the key. The same body and key give the same bytes, always.
func seal(key id, b *body) ([]byte, error) {
	var buf bytes.Buffer
	buf.Grow(512)
	buf.WriteByte(envelopeVersion)
	if err := encoder.MarshalToBuffer(b, &buf); err != nil {
		return nil, fmt.Errorf("encoding entry %s: %w", key, err)
	}
	if buf.Len() > maxValueLen-crcLen {
		return nil, invalid(fmt.Sprintf("an entry of %d bytes", buf.Len()), fmt.Sprintf("at most %d", maxValueLen))
	}
	return binary.BigEndian.AppendUint32(buf.Bytes(), checksum(key, buf.Bytes())), nil
}

// checksum is CRC32C over the key, the version byte and the CBOR: an entry under a wrong key does not pass.
func checksum(key id, sealed []byte) uint32 {
	return crc32.Update(crc32.Checksum(key[:], castagnoli), castagnoli, sealed)
}

// unwrap verifies a value's length and checksum and returns its version and CBOR. The rule is the same for all versions.
func unwrap(key id, value []byte) (version byte, payload []byte, err error) {
	if len(value) < minValueLen {
		return 0, nil, damaged(fmt.Sprintf("entry %s: %d bytes, expected at least %d", key, len(value), minValueLen), nil)
	}
	cut := len(value) - crcLen
	want, got := binary.BigEndian.Uint32(value[cut:]), checksum(key, value[:cut])
	if want != got {
		return 0, nil, damaged(fmt.Sprintf("entry %s: checksum %08x, expected %08x", key, got, want), nil)
	}
	return value[0], value[1:cut], nil
}

// open verifies and decodes a value. Keys and kinds that this version does not know are no error: they are listed.
func open(key id, value []byte) (*body, error) {
	version, payload, err := unwrap(key, value)
	if err != nil {
		return nil, err
	}
	b := new(body)
	if !b.quick(payload) {
		*b = body{}
		err = strict.Unmarshal(payload, b)
	}
	var more *cbor.UnknownFieldError
	if errors.As(err, &more) {
		*b = body{}
		if err = lenient.Unmarshal(payload, b); err == nil {
			b.unknown = unknownKeys(payload)
		}
	}
	if err == nil {
		err = b.sound()
	}
	if err != nil {
		return nil, damaged(fmt.Sprintf("entry %s: its content cannot be read", key), err)
	}
	if version != envelopeVersion {
		b.unknown = append(b.unknown, fmt.Sprintf("wrapping version %d", version))
	}
	if b.Kind < KindRound || b.Kind > KindDone {
		b.unknown = append(b.unknown, b.Kind.String())
	}
	return b, nil
}

// kindOf is the kind that a value begins with, 0 where it begins with none: the map's first key is the kind. The value may be spoilt,
// so that this is what it says and no more.
func kindOf(value []byte) Kind {
	if len(value) < minValueLen {
		return 0
	}
	major, _, size := cborHead(value[1:])
	if at := 1 + size; major == cborMap && size > 0 && at+1 < len(value) && value[at] == 1 {
		return Kind(value[at+1])
	}
	return 0
}

// sound checks the lengths of the fixed fields.
func (b *body) sound() error {
	switch {
	case len(b.Writer) != writerLen:
		return fmt.Errorf("a writer of %d bytes, expected %d", len(b.Writer), writerLen)
	case len(b.Prev) != hashLen:
		return fmt.Errorf("a previous hash of %d bytes, expected %d", len(b.Prev), hashLen)
	case b.Kind == KindAmendment && len(b.Target) != idLen:
		return fmt.Errorf("a target of %d bytes, expected %d", len(b.Target), idLen)
	}
	return nil
}

// unknownKeys lists the keys of the map that this version has no name for, with their content in CBOR's own notation.
func unknownKeys(payload []byte) []string {
	var all map[int]cbor.RawMessage
	if err := lenient.Unmarshal(payload, &all); err != nil {
		return []string{"keys that are no numbers"}
	}
	var list []string
	for n := range all {
		if !known(n) {
			list = append(list, fmt.Sprintf("key %d", n))
		}
	}
	sortStrings(list)
	return list
}

// known reports whether a key of the map has a name here.
func known(n int) bool {
	return n >= 1 && n <= 8 || n >= 10 && n <= 15 || n >= 20 && n <= 23 || n >= 30 && n <= 32 || n == 40 || n >= 50 && n <= 51
}

// hashOf is what the writer's next entry holds as its previous hash: SHA-256 over the key and the value.
func hashOf(key id, value []byte) [hashLen]byte {
	h := sha256.New()
	h.Write(key[:])
	h.Write(value)
	return [hashLen]byte(h.Sum(nil))
}
