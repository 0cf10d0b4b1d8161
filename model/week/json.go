package week

import (
	"bytes"
	"encoding/json"
)

// MarshalJSON writes the states as one object by quantity, in walking order.
func (s States) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, q := range s {
		if i > 0 {
			b.WriteByte(',')
		}
		key, err := json.Marshal(q.Quantity)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(q)
		if err != nil {
			return nil, err
		}
		b.Write(key)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}
