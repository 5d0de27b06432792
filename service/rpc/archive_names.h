#pragma once

#include <string>

#include "absl/strings/string_view.h"
#include "archive/entry.h"
#include "rpc/reader.h"

namespace coilwright::rpc {

// "windings/", "jobs/"; readings lie below their job.
absl::string_view CollectionOf(archive::Kind kind);
// "jobs/{id}/readings/", of a job's name.
std::string ReadingsOf(absl::string_view job);
// "jobs/{id}", of the name of readings.
std::string JobOf(absl::string_view readings);

bool IsName(archive::Kind kind, absl::string_view name);
// How a name of this kind is said to be accepted.
absl::string_view NameAccepted(archive::Kind kind);

// A name that is needed, checked for its form; "" where it is wrong.
std::string ReadName(const Reader& reader, absl::string_view field, archive::Kind kind);
// The caller's id for a new resource as its name; one is made where the field is empty.
std::string ReadNewName(const Reader& reader, absl::string_view field, archive::Kind kind);

// Of one revision of one resource: another revision has another, and so has another name.
std::string EtagOf(absl::string_view name, int revision);
// Whether a text could be one.
bool IsEtag(absl::string_view text);

// 64 bits of FNV-1a in hexadecimal: short marks that need not withstand anybody.
std::string Mark(absl::string_view bytes);

}  // namespace coilwright::rpc
