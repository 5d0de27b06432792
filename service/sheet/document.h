#pragma once

#include <functional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "sheet/canvas.h"
#include "sheet/plot.h"

// Pages of facts, tables, lists and plots, to be read at the bench and written on. What they say is put together
// elsewhere; here it gets its place.
namespace coilwright::sheet {

// In place of a value or a cell: a line to write on.
inline constexpr const char* kToWrite = "\x1f";

// "name  value" under each other. Pairs without a value are left out.
struct Facts {
  std::vector<std::pair<std::string, std::string>> pairs;
};

struct Table {
  struct Column {
    std::string heading;
    bool right = false;  // figures stand under each other
    // What is left of the width is shared by the columns that stretch; their cells are broken into lines.
    bool stretches = false;
  };
  std::vector<Column> columns;
  std::vector<std::vector<std::string>> rows;
};

// One text under the other, each with its mark.
struct List {
  std::vector<std::string> items;
  std::string mark;
};

// Something drawn that fills the width: `draw` gets its upper left corner and its width.
struct Drawing {
  double height_mm = 0;
  std::function<void(Canvas&, Point, double width_mm)> draw;
};

struct Block {
  std::string heading;  // may be empty
  std::variant<Facts, Table, List, Plot, Drawing> content;
  bool half = false;  // two of these in a row stand side by side
};

struct Document {
  std::string title;
  std::string subtitle;
  std::string code;                   // in a box beside the title: paper and archive are matched by it
  std::string code_mark;              // in the box below it: what is shown is not the same as the code stands for
  std::vector<std::string> warnings;  // framed, above everything else
  std::vector<Block> blocks;
  std::string footer;
};

// Bytes of everything that is set as text: what a document costs goes by it.
size_t TextBytes(const Document& document);

// As few pages as the text takes at 0.8 of its size (body 2.9 mm; 0.7 on a label), at the greatest size that takes no
// more; beyond a few pages at its full size. Every table has its heading on each of them, and no text is left out but
// what is too long for a title.
void Draw(const Document& document, PageSize size, Canvas& canvas);

}  // namespace coilwright::sheet
