#pragma once

#include <cstdio>
#include <cstdlib>
#include <string>

#include "calls/samples.h"
#include "rpc/archive_methods.h"

// What the archive of the tests holds, and good requests of the calls to it.
namespace coilwright::calls {

template <typename Response, typename Request>
Response Done(absl::Status (*body)(archive::Archive&, const Request&, Response*), archive::Archive& archive,
              const Request& request) {
  Response response;
  const absl::Status done = body(archive, request, &response);
  if (!done.ok()) {
    std::fprintf(stderr, "%s\n%s\n", done.ToString().c_str(), request.ShortDebugString().substr(0, 2000).c_str());
    std::abort();
  }
  return response;
}

v1::ArchivedWinding KeepForTest(archive::Archive& archive, const std::string& id, const v1::WindingRecord& record);

// A megohm reading of a day in that year, taken at 40 C, so that it stands as it was read.
v1::AddReadingsRequest MegohmsOf(const std::string& job, int year, double megohms);

// Windings "sample" (two revisions), "other" and "to-delete"; jobs "sample" (with readings of six years), "bench" and
// "to-delete".
void SeedTestArchive(archive::Archive& archive);

// To GoodRequests, of the calls to the archive.
void AddArchiveSamples(const std::string& method, Requests* requests);

}  // namespace coilwright::calls
