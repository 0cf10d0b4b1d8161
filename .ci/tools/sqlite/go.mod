module example.org/headpond/sqlite

go 1.26.0

replace example.org/headpond => ../../..

require (
	example.org/headpond v0.0.0-00010101000000-000000000000
	github.com/mattn/go-sqlite3 v1.14.53
)

require (
	github.com/fxamacker/cbor/v2 v2.10.0 // indirect
	github.com/oklog/ulid/v2 v2.1.2 // indirect
	github.com/pelletier/go-toml/v2 v2.4.3 // indirect
	github.com/x448/float16 v0.8.4 // indirect
	go.etcd.io/bbolt v1.5.0 // indirect
	golang.org/x/sys v0.49.0 // indirect
	gonum.org/v1/gonum v0.17.0 // indirect
)
