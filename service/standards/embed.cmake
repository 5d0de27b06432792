# cmake -D TABLES=<csv;csv...> -D OUT=<dir> -P embed.cmake
# Writes embedded_tables.cc (every table verbatim, and the data revision) and rule_ids.h (one constant per rule id).
list(SORT TABLES)
set(bodies "")
set(hashes "")
set(ids "")
foreach(table IN LISTS TABLES)
  get_filename_component(name ${table} NAME_WE)
  file(READ ${table} text)
  file(SHA256 ${table} hash)
  string(APPEND hashes "${name}=${hash}\n")
  string(APPEND bodies "    {\"${name}\", R\"csv(${text})csv\"},\n")
  if(name MATCHES "^rules_")
    string(REGEX MATCHALL "\n[a-z][a-z0-9_]*[.][-a-z0-9._]+," matches "\n${text}")
    foreach(match IN LISTS matches)
      string(REGEX REPLACE "[\n,]" "" id "${match}")
      string(REGEX REPLACE "[^a-z0-9]" "_" constant "${id}")
      string(APPEND ids "inline constexpr absl::string_view ${constant} = \"${id}\";\n")
    endforeach()
  endif()
endforeach()
string(SHA256 revision "${hashes}")
string(SUBSTRING ${revision} 0 12 revision)

file(CONFIGURE OUTPUT ${OUT}/rule_ids.h @ONLY CONTENT [[
#pragma once

#include "absl/strings/string_view.h"

namespace coilwright::rules {
@ids@}  // namespace coilwright::rules
]])
file(CONFIGURE OUTPUT ${OUT}/embedded_tables.cc @ONLY CONTENT [[
#include "standards/tables.h"

namespace coilwright::standards {
namespace {
struct Embedded {
  absl::string_view name;
  absl::string_view text;
};
constexpr Embedded kTables[] = {
@bodies@};
}  // namespace

absl::string_view EmbeddedTable(absl::string_view name) {
  for (const Embedded& table : kTables) {
    if (table.name == name) return table.text;
  }
  return {};
}

absl::string_view DataRevision() { return "@revision@"; }
}  // namespace coilwright::standards
]])
