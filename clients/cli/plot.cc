#include "plot.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "text.h"

namespace coilwright::cli {
namespace {

// Figures of the scale within [low, high]: decades, with 2 and 5 between them where those are few.
std::vector<double> Steps(double low, double high) {
  std::vector<double> steps;
  const bool fine = std::log10(high / low) < 2.5;
  for (int decade = static_cast<int>(std::floor(std::log10(low))); std::pow(10, decade) <= high * (1 + 1e-9);
       ++decade) {
    for (double digit : {1.0, 2.0, 5.0}) {
      const double step = digit * std::pow(10, decade);
      if ((digit == 1 || fine) && step >= low * (1 - 1e-9) && step <= high * (1 + 1e-9)) steps.push_back(step);
    }
  }
  return steps;
}

// The step down, or up, from a value.
double Rounded(double value, bool up) {
  const double decade = std::pow(10, std::floor(std::log10(value) + 1e-9));
  for (double digit : {1.0, 2.0, 5.0, 10.0}) {
    if (up && digit * decade >= value * (1 - 1e-9)) return digit * decade;
  }
  for (double digit : {5.0, 2.0, 1.0}) {
    if (!up && digit * decade <= value * (1 + 1e-9)) return digit * decade;
  }
  return value;
}

std::string YearText(double year, double step) {
  if (step >= 1) return absl::StrFormat("%.0f", year);
  const double whole = std::floor(year + 1e-9);
  return absl::StrFormat("%.0f-%02.0f", whole, std::floor((year - whole) * 12 + 1.5));
}

}  // namespace

std::vector<std::string> DrawPlot(const LogPlot& plot, int width, int height) {
  if (plot.points.empty()) return {};
  double first = plot.points[0].x, last = plot.points[0].x;
  double low = plot.points[0].y, high = plot.points[0].y;
  for (const PlotPoint& point : plot.points) {
    first = std::min(first, point.x);
    last = std::max(last, point.x);
    low = std::min(low, point.y);
    high = std::max(high, point.y);
  }
  last = std::max(last, plot.last_x);
  if (plot.level > 0) {
    // A level at the bottom stands off the axis.
    low = std::min(low, 0.9 * plot.level);
    high = std::max(high, plot.level);
  }
  // A point stands a little within the axes, and readings of one day still have a width.
  const double margin = std::max((last - first) * 0.03, 0.05);
  first -= margin;
  last += margin;
  low = Rounded(low, false);
  high = Rounded(high, true);
  if (high <= low * 1.01) high = Rounded(low * 2, true);

  const auto row_of = [&](double y) {
    return static_cast<int>(std::lround((height - 1) * std::log(high / y) / std::log(high / low)));
  };
  std::vector<std::string> labels(static_cast<size_t>(height));
  size_t label_width = 0;
  for (double step : Steps(low, high)) labels[static_cast<size_t>(row_of(step))] = Figures(step);
  if (plot.level > 0) labels[static_cast<size_t>(row_of(plot.level))] = Figures(plot.level, 3);
  for (const std::string& label : labels) label_width = std::max(label_width, label.size());
  const int columns = width - static_cast<int>(label_width) - 2;
  const auto column_of = [&](double x) {
    return static_cast<int>(std::lround((columns - 1) * (x - first) / (last - first)));
  };
  std::vector<std::string> field(static_cast<size_t>(height), std::string(static_cast<size_t>(columns), ' '));
  const auto set = [&](int row, int column, char mark) {
    if (row >= 0 && row < height && column >= 0 && column < columns)
      field[static_cast<size_t>(row)][static_cast<size_t>(column)] = mark;
  };
  if (plot.level > 0) field[static_cast<size_t>(row_of(plot.level))].assign(static_cast<size_t>(columns), '-');
  for (int c = 0; plot.line_ratio > 0 && c < columns; ++c) {
    const double x = first + (last - first) * c / (columns - 1);
    const double y = plot.line_y * std::pow(plot.line_ratio, x - plot.line_x);
    if (y > 0 && std::isfinite(y)) set(row_of(y), c, '.');
  }
  for (const PlotPoint& point : plot.points) set(row_of(point.y), column_of(point.x), point.mark);

  std::vector<std::string> lines;
  for (size_t row = 0; row < field.size(); ++row) {
    lines.push_back(absl::StrCat(std::string(label_width - labels[row].size(), ' '), labels[row],
                                 labels[row].empty() ? " |" : " +", field[row]));
    lines.back().erase(lines.back().find_last_not_of(' ') + 1);
  }
  // Years where they are whole; months where the axis is short.
  double step = 1.0 / 12;
  for (double wider : {1.0 / 12, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0}) {
    step = wider;
    if ((last - first) / wider * (wider < 1 ? 9 : 7) < columns) break;
  }
  std::string axis(static_cast<size_t>(columns), '-'), years(static_cast<size_t>(columns) + 8, ' ');
  for (double year = std::ceil(first / step - 1e-9) * step; year <= last; year += step) {
    const auto column = static_cast<size_t>(std::clamp(column_of(year), 0, columns - 1));
    axis[column] = '+';
    const std::string text = YearText(year, step);
    const size_t from = column < text.size() / 2 ? 0 : column - text.size() / 2;
    if (from + text.size() <= static_cast<size_t>(columns)) years.replace(from, text.size(), text);
  }
  const std::string indent(label_width + 1, ' ');
  lines.push_back(absl::StrCat(indent, "+", axis));
  lines.push_back(absl::StrCat(indent, " ", years.substr(0, years.find_last_not_of(' ') + 1)));
  return lines;
}

}  // namespace coilwright::cli
