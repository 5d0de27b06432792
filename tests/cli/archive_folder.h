#pragma once

#include <string>
#include <vector>

#include "coilwright/v1/archive.pb.h"
#include "coilwright/v1/archive_service.pb.h"
#include "gtest/gtest.h"
#include "program.h"

namespace coilwright::cli {

// A folder with an archive of its own for one test, gone at its end.
class ArchiveFolder : public ::testing::Test {
 protected:
  ArchiveFolder();
  ~ArchiveFolder() override;

  const std::string& folder() const { return folder_; }
  // Writes a file in the folder and returns its path.
  std::string File(const std::string& name, const std::string& text) const;

  // Runs a command on the archive, or on another one in the folder.
  Ran Do(std::vector<std::string> words, const std::string& input = "", const std::string& archive = "shop.db") const;
  void Save(const std::string& id) const;
  Ran Change(const std::string& id, std::vector<std::string> flags) const;
  v1::ArchivedWinding Get(const std::string& name) const;
  // Nothing of one that is not there.
  v1::GetArchiveResponse Count(const std::string& archive = "shop.db") const;

 private:
  std::string folder_;
};

}  // namespace coilwright::cli
