// Command bill makes the papers of a release: the licences of everything that is linked into the program, a bill of materials
// in CycloneDX 1.6 JSON, held against the published schema, and archives that are the same to the byte wherever they are made.
//
//	bill papers -dir FOLDER -version V -time T TARGET=BINARY=LIST ...   licences and bill of materials, into FOLDER
//	bill pack -time T ARCHIVE NAME=FILE ...                             a .tar.gz or .zip of these files
//
// LIST is what go list -deps -json printed for the target. What it says is held against what the binary itself says that it
// was built from.
package main
