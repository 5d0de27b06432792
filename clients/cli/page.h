#pragma once

#include <string>
#include <utility>
#include <vector>

#include "absl/strings/string_view.h"

namespace coilwright::cli {

// Widest line printed, in characters, where nobody says otherwise.
constexpr int kPageWidth = 100;
constexpr int kLeastPageWidth = 60, kGreatestPageWidth = 200;
// Widest line of this process; set once, before anything is printed, to what the range above allows of `characters`.
int PageWidth();
void SetPageWidth(int characters);

// Rows of cells under one heading row.
class Table {
 public:
  enum class Align { kLeft, kRight, kPoint };  // kPoint: decimal points under each other
  struct Column {
    std::string heading;
    Align align = Align::kLeft;
  };

  explicit Table(std::vector<Column> columns) : columns_(std::move(columns)) {}
  // Cells left out at the end are empty.
  void Add(std::vector<std::string> cells) { rows_.push_back({std::move(cells), ""}); }
  // A wrapped line across the table below the row added last, from the second column on.
  void Note(std::string text) { rows_.back().note = std::move(text); }
  bool empty() const { return rows_.empty(); }
  // Aligned lines. Columns without any cell are left out. The last column, where it is left-aligned, is wrapped so that
  // no line is wider than the page less `indent`.
  std::vector<std::string> Lines(int indent) const;

 private:
  struct Row {
    std::vector<std::string> cells;
    std::string note;
  };
  std::vector<Column> columns_;
  std::vector<Row> rows_;
};

// A printed answer: headings, facts, tables and wrapped text, never wider than PageWidth() where words allow it.
class Page {
 public:
  void Title(absl::string_view text);
  void Heading(absl::string_view text);
  // "name   value" lines, values under each other; pairs without a value are left out.
  void Facts(const std::vector<std::pair<std::string, std::string>>& facts);
  void Add(const Table& table);
  void Paragraph(absl::string_view text);
  // One wrapped item per text, nothing for an empty list.
  template <class Texts>
  void List(const Texts& texts, absl::string_view mark = "-") {
    for (const auto& text : texts) Item(text, mark);
  }
  void Item(absl::string_view text, absl::string_view mark = "-", int indent = 2);
  // A line as it stands, indented; for what is drawn.
  void Drawn(absl::string_view line);
  void Blank();
  const std::string& text() const { return text_; }

 private:
  void Line(absl::string_view line);
  std::string text_;
};

}  // namespace coilwright::cli
