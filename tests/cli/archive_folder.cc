#include "archive_folder.h"

#include <gmock/gmock.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "coilwright/v1/winding_archive_service.pb.h"
#include "json.h"

namespace coilwright::cli {

ArchiveFolder::ArchiveFolder() : folder_(testing::TempDir() + "coilwright_archive_XXXXXX") {
  EXPECT_NE(mkdtemp(&folder_[0]), nullptr);
}

ArchiveFolder::~ArchiveFolder() { std::filesystem::remove_all(folder_); }

std::string ArchiveFolder::File(const std::string& name, const std::string& text) const {
  std::string path = folder_ + "/" + name;
  std::ofstream(path, std::ios::binary) << text;
  return path;
}

Ran ArchiveFolder::Do(std::vector<std::string> words, const std::string& input, const std::string& archive) const {
  words.push_back("--archive");
  words.push_back(folder_ + "/" + archive);
  return RunProgram(words, input);
}

void ArchiveFolder::Save(const std::string& id) const {
  const Ran saved = Do({"archive", "save", "-", "--by", "Ana", "--id", id}, Template("pm"));
  ASSERT_EQ(saved.exit_status, 0) << saved.err;
}

Ran ArchiveFolder::Change(const std::string& id, std::vector<std::string> flags) const {
  flags.insert(flags.begin(), {"archive", "change", id, "--by", "Bo"});
  return Do(flags);
}

v1::ArchivedWinding ArchiveFolder::Get(const std::string& name) const {
  v1::GetWindingResponse answer;
  const Ran ran = Do({"archive", "show", name, "--json"});
  const auto source = ReadJson("", ran.out);
  EXPECT_TRUE(source.ok() && ParseJson(*source, &answer).ok()) << ran.out << ran.err;
  return answer.winding();
}

v1::GetArchiveResponse ArchiveFolder::Count(const std::string& archive) const {
  v1::GetArchiveResponse answer;
  if (!std::filesystem::exists(folder_ + "/" + archive)) return answer;
  const Ran ran = Do({"archive", "status", "--json"}, "", archive);
  const auto source = ReadJson("", ran.out);
  EXPECT_TRUE(source.ok() && ParseJson(*source, &answer).ok()) << ran.out << ran.err;
  return answer;
}

}  // namespace coilwright::cli
