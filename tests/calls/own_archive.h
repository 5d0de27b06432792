#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <vector>

#include "calls/archive_samples.h"
#include "calls/test_archive.h"
#include "rpc/archive_methods.h"
#include "rpc/methods.h"
#include "standards/errors.h"

namespace coilwright::calls {

// A test with an archive of its own, empty at first.
class OwnArchive : public ::testing::Test {
 protected:
  archive::Archive& archive() { return *archive_; }
  const std::shared_ptr<archive::Archive>& shared() { return archive_; }

  // What a body answers, which must be OK.
  template <typename Request, typename Response>
  Response Ok(absl::Status (*body)(archive::Archive&, const Request&, Response*), const Request& request) {
    Response response;
    const absl::Status done = body(*archive_, request, &response);
    EXPECT_TRUE(done.ok()) << done << "\n" << request.ShortDebugString().substr(0, 2000);
    return response;
  }
  // The error of a body.
  template <typename Request, typename Response>
  absl::Status Fails(absl::Status (*body)(archive::Archive&, const Request&, Response*), const Request& request) {
    Response response;
    const absl::Status done = body(*archive_, request, &response);
    EXPECT_FALSE(done.ok()) << response.ShortDebugString().substr(0, 2000);
    return done;
  }
  // The fields a body refuses.
  template <typename Request, typename Response>
  std::vector<std::string> Refused(absl::Status (*body)(archive::Archive&, const Request&, Response*),
                                   const Request& request) {
    const absl::Status done = Fails(body, request);
    EXPECT_EQ(done.code(), absl::StatusCode::kInvalidArgument) << done;
    std::vector<std::string> fields;
    for (const standards::FieldError& error : standards::FieldErrorsOf(done)) fields.push_back(error.field);
    return fields;
  }

 private:
  TemporaryFile file_{"own"};
  std::shared_ptr<archive::Archive> archive_ = OpenForTest(file_.path());
};

}  // namespace coilwright::calls
