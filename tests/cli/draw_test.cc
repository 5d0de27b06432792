// coilwright draw: files in the format their name says, never over another without being told to.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "program.h"

namespace coilwright::cli {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

class Draw : public testing::Test {
 protected:
  void SetUp() override {
    ASSERT_NE(mkdtemp(&folder_[0]), nullptr);
    folder_ += "/";
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  std::string Bytes(const std::string& name) const {
    std::ifstream file(folder_ + name, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  bool IsThere(const std::string& name) const { return std::filesystem::exists(folder_ + name); }

  std::string folder_ = testing::TempDir() + "coilwright_draw_XXXXXX";
  const std::string record_ = COILWRIGHT_SOURCE_DIR "/clients/demo/can-seamer-servo.json";
};

TEST_F(Draw, WritesTheFormatThatTheNameSays) {
  const Ran pdf = RunProgram({"draw", "winding", "36/4,pitch=8", "-o", folder_ + "a.pdf"});
  EXPECT_EQ(pdf.exit_status, 0) << pdf.err;
  EXPECT_EQ(pdf.out, "wrote " + folder_ + "a.pdf\n");
  EXPECT_THAT(Bytes("a.pdf"), StartsWith("%PDF-1."));
  const Ran svg = RunProgram({"draw", "winding", "36/4,pitch=8", "--out", folder_ + "b.SVG", "--paper", "letter"});
  EXPECT_EQ(svg.exit_status, 0) << svg.err;
  EXPECT_THAT(Bytes("b-1.SVG"), AllOf(StartsWith("<?xml"), HasSubstr("width=\"279.4mm\"")));
  EXPECT_TRUE(IsThere("b-2.SVG"));
  const Ran slot = RunProgram({"draw", "slot", record_, "--out", folder_ + "c.svg", "--title", "Slot of the seamer"});
  EXPECT_EQ(slot.exit_status, 0) << slot.err;
  EXPECT_THAT(Bytes("c.svg"), HasSubstr(">Slot of the seamer</text>"));
  // Nothing is left beside them.
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder_), {}), 4);
}

TEST_F(Draw, ReplacesNothingUnlessForced) {
  std::ofstream(folder_ + "a.pdf") << "precious";
  std::ofstream(folder_ + "b-2.svg") << "precious";
  const Ran pdf = RunProgram({"draw", "winding", "12/10", "--out", folder_ + "a.pdf"});
  EXPECT_EQ(pdf.exit_status, 2);
  EXPECT_THAT(pdf.err, HasSubstr("a.pdf is there; accepted: another name, or --force"));
  const Ran svg = RunProgram({"draw", "winding", "12/10", "--out", folder_ + "b.svg"});
  EXPECT_EQ(svg.exit_status, 2);
  EXPECT_EQ(Bytes("a.pdf") + Bytes("b-2.svg"), "preciousprecious");
  EXPECT_FALSE(IsThere("b-1.svg"));
  EXPECT_EQ(RunProgram({"draw", "winding", "12/10", "--out", folder_ + "a.pdf", "--force"}).exit_status, 0);
  EXPECT_THAT(Bytes("a.pdf"), StartsWith("%PDF-1."));
}

TEST_F(Draw, WritesToAPipeAndAsJson) {
  const Ran pipe = RunProgram({"draw", "winding", "12/10", "-o", "-"});
  EXPECT_EQ(pipe.exit_status, 0) << pipe.err;
  EXPECT_THAT(pipe.out, StartsWith("%PDF-1."));
  const Ran json = RunProgram({"draw", "slot", record_, "--json", "--format", "svg"});
  EXPECT_EQ(json.exit_status, 0) << json.err;
  EXPECT_THAT(json.out, AllOf(HasSubstr("\"media_type\": \"image/svg+xml\""), HasSubstr("\"data_revision\"")));
}

TEST_F(Draw, SaysWhatItAccepts) {
  const auto refused = [&](std::vector<std::string> words, const std::string& part) {
    words.insert(words.begin(), "draw");
    const Ran ran = RunProgram(words);
    EXPECT_EQ(ran.exit_status, 2) << part;
    EXPECT_THAT(ran.out, IsEmpty());
    EXPECT_THAT(ran.err, HasSubstr(part));
  };
  refused({"winding", "12/10"}, "--out: missing; accepted: a FILE that ends in .pdf or .svg");
  refused({"winding", "12/10", "-o", "x.png"}, "--out: got x.png, accepted: a FILE that ends in .pdf or .svg");
  refused({"winding", "12/10", "-o", folder_ + "x.pdf", "--format", "svg"}, "--format: svg beside ");
  refused({"winding", "12/10", "-o", "-", "--format", "svg"}, "- takes one file, and these are 2");
  refused({"winding", "12/10", "-o", folder_ + "none/x.pdf"}, "cannot be made: No such file");
  refused({"winding", "12/x", "-o", "-"}, "layout: got");
  refused({"winding", "--slots", "12", "-o", "-"}, "--poles");
  refused({"winding", record_, "--circuits", "2", "-o", "-"}, "--circuits (parallel_circuits)");
  refused({"slot", record_, "--way", "99", "-o", "-"}, "--way (way)");
  refused({"slot"}, "missing: a FILE with the record");
}

TEST_F(Draw, WhatDoesNotBalanceHasNoDrawing) {
  const Ran ran = RunProgram({"draw", "winding", "42/6,pitch=7", "-o", folder_ + "x.pdf"});
  EXPECT_EQ(ran.exit_status, 3);
  EXPECT_THAT(ran.err, HasSubstr("no balanced three-phase winding"));
  EXPECT_FALSE(IsThere("x.pdf"));
}

TEST_F(Draw, ACertificateHasTheRunOfAFile) {
  const std::string readings = COILWRIGHT_SOURCE_DIR "/clients/demo/can-seamer-readings.json";
  std::ofstream(folder_ + "run.csv") << "seconds,megohms,celsius\n30,700,22\n60,900,22\n";
  const Ran made = RunProgram({"sheet", "certificate", readings, "--run", folder_ + "run.csv", "--test-volts", "500",
                               "--out", folder_ + "a.svg"});
  EXPECT_EQ(made.exit_status, 0) << made.err;
  std::string pages;
  for (const auto& page : std::filesystem::directory_iterator(folder_)) {
    if (page.path().extension() == ".svg") pages += Bytes(page.path().filename());
  }
  EXPECT_THAT(pages, AllOf(HasSubstr("Insulation run"), HasSubstr("900 megohms as read")));
  const Ran unsaid =
      RunProgram({"sheet", "certificate", readings, "--run", folder_ + "run.csv", "--out", folder_ + "b.svg"});
  EXPECT_EQ(unsaid.exit_status, 2);
  EXPECT_THAT(unsaid.err, AllOf(HasSubstr("run.csv: line 1"), HasSubstr("--test-volts")));
  const Ran alone = RunProgram({"sheet", "certificate", readings, "--test-volts", "500", "--out", folder_ + "b.svg"});
  EXPECT_EQ(alone.exit_status, 2);
  EXPECT_THAT(alone.err, HasSubstr("with --run CSV"));
}

}  // namespace
}  // namespace coilwright::cli
