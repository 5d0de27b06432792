#pragma once

namespace coilwright::cli {

// Commented record files to fill in, with the values of an invented machine.
const char* PermanentMagnetTemplate();
const char* InductionTemplate();
// A commented shelf list: which wires may be used.
const char* ShelfTemplate();
// A commented request with a reading of every kind.
const char* ReadingsTemplate();

}  // namespace coilwright::cli
