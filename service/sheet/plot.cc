#include "sheet/plot.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "print/figures.h"
#include "sheet/draw.h"

namespace coilwright::sheet {
namespace {

// Where the values of one axis lie on the paper.
class Scale {
 public:
  Scale(const Plot::Axis& axis, std::vector<double> values, bool round) : logarithmic_(axis.logarithmic) {
    values.erase(std::remove_if(values.begin(), values.end(), [this](double value) { return !Shows(value); }),
                 values.end());
    if (values.empty()) values = {1};
    low_ = *std::min_element(values.begin(), values.end());
    high_ = *std::max_element(values.begin(), values.end());
    if (low_ == high_) {
      low_ = logarithmic_ ? low_ / 2 : low_ - std::max(1.0, std::fabs(low_) / 10);
      high_ = logarithmic_ ? high_ * 2 : high_ + std::max(1.0, std::fabs(high_) / 10);
    }
    if (!round) return;
    // A little air, and zero where the values come near it.
    if (logarithmic_) {
      low_ /= 1.3;
      high_ *= 1.3;
    } else {
      const double air = 0.06 * (high_ - low_);
      low_ = low_ >= 0 && low_ < 0.4 * high_ ? 0 : low_ - air;
      high_ += air;
    }
  }

  bool Shows(double value) const { return std::isfinite(value) && (!logarithmic_ || value > 0); }
  double Share(double value) const {
    const auto at = [this](double v) { return logarithmic_ ? std::log(v) : v; };
    return (at(value) - at(low_)) / (at(high_) - at(low_));
  }
  std::vector<double> Ticks(int wanted) const { return sheet::Ticks(low_, high_, logarithmic_, wanted); }

 private:
  bool logarithmic_;
  double low_ = 0;
  double high_ = 0;
};

// With as many figures as it takes to tell neighbours apart.
std::vector<std::string> Labels(const std::vector<double>& ticks) {
  std::vector<std::string> labels;
  for (int figures = 3; figures <= 9; ++figures) {
    labels.clear();
    for (const double tick : ticks) labels.push_back(print::Figures(tick, figures));
    if (std::adjacent_find(labels.begin(), labels.end()) == labels.end()) break;
  }
  return labels;
}

}  // namespace

std::vector<double> Ticks(double low, double high, bool logarithmic, int wanted) {
  std::vector<double> ticks;
  if (logarithmic) {
    const int from = static_cast<int>(std::floor(std::log10(low)));
    const int to = static_cast<int>(std::ceil(std::log10(high)));
    const bool between = to - from <= 3;
    const int step = std::max(1, (to - from) / std::max(1, wanted));
    for (int power = from; power <= to; power += step) {
      for (const double factor : {1.0, 2.0, 5.0}) {
        const double tick = factor * std::pow(10.0, power);
        if ((between || factor == 1) && tick >= low * (1 - 1e-9) && tick <= high * (1 + 1e-9)) ticks.push_back(tick);
      }
    }
    return ticks;
  }
  const double rough = (high - low) / std::max(1, wanted);
  const double power = std::pow(10.0, std::floor(std::log10(rough)));
  const double ratio = rough / power;
  const double step = power * (ratio <= 1 ? 1 : ratio <= 2 ? 2 : ratio <= 5 ? 5 : 10);
  for (double count = std::ceil(low / step - 1e-9); count * step <= high + 1e-9 * step; ++count)
    ticks.push_back(count == 0 ? 0 : count * step);
  return ticks;
}

void DrawPlot(Canvas& canvas, const Plot& plot, Point corner, double width_mm, double size_mm) {
  std::vector<double> xs;
  std::vector<double> ys;
  for (const Plot::Series& series : plot.series) {
    for (const auto& [x, y] : series.points) {
      xs.push_back(x);
      ys.push_back(y);
    }
  }
  for (const Plot::Limit& limit : plot.limits) ys.push_back(limit.value);
  const Scale x_scale(plot.x, xs, !plot.x.logarithmic);
  const Scale y_scale(plot.y, ys, true);
  const TextStyle small{size_mm * 0.9};

  const std::vector<double> y_ticks = y_scale.Ticks(5);
  double label_width = 0;
  const std::vector<std::string> y_labels = Labels(y_ticks);
  for (const std::string& label : y_labels) label_width = std::max(label_width, canvas.WidthMm(label, small));
  const double left = corner.x_mm + label_width + 2.2 * size_mm;
  const double right = corner.x_mm + width_mm - size_mm;
  const double top = corner.y_mm + 2 * size_mm;  // the key stands above

  const double bottom = corner.y_mm + plot.height_mm - 3.4 * size_mm;
  const auto x_of = [&](double x) { return left + x_scale.Share(x) * (right - left); };
  const auto y_of = [&](double y) { return bottom - y_scale.Share(y) * (bottom - top); };

  const Stroke thin{0.12, {}, 0.45};
  const std::vector<double> x_ticks = x_scale.Ticks(8);
  const std::vector<std::string> x_labels = Labels(x_ticks);
  for (size_t i = 0; i < x_ticks.size(); ++i) {
    const double tick = x_ticks[i];
    canvas.Draw(Polyline({{x_of(tick), top}, {x_of(tick), bottom}}), &thin, Fill::kNone);
    TextStyle style = small;
    style.anchor = Anchor::kMiddle;
    canvas.Text({x_of(tick), bottom + 1.1 * size_mm}, x_labels[i], style);
  }
  for (size_t i = 0; i < y_ticks.size(); ++i) {
    const double tick = y_ticks[i];
    canvas.Draw(Polyline({{left, y_of(tick)}, {right, y_of(tick)}}), &thin, Fill::kNone);
    TextStyle style = small;
    style.anchor = Anchor::kEnd;
    canvas.Text({left - 0.4 * size_mm, y_of(tick) + 0.3 * size_mm}, y_labels[i], style);
  }
  const Stroke frame{0.3, {}, 1};
  canvas.Draw(Rectangle({left, top}, right - left, bottom - top), &frame, Fill::kNone);
  TextStyle name = small;
  name.anchor = Anchor::kMiddle;
  canvas.Text({(left + right) / 2, bottom + 2.6 * size_mm}, plot.x.label, name);
  name.degrees = -90;
  canvas.Text({corner.x_mm + size_mm, (top + bottom) / 2}, plot.y.label, name);

  for (const Plot::Limit& limit : plot.limits) {
    if (!y_scale.Shows(limit.value)) continue;
    const Stroke dashed{0.35, {2.4, 1.2}, 1};
    canvas.Draw(Polyline({{left, y_of(limit.value)}, {right, y_of(limit.value)}}), &dashed, Fill::kNone);
    TextStyle style = small;
    style.anchor = Anchor::kEnd;
    // Above its line, or below where the frame is close.
    const bool below = y_of(limit.value) - 1.5 * size_mm < top;
    const Point at{right - 0.5 * size_mm, y_of(limit.value) + (below ? 1.1 : -0.4) * size_mm};
    const double wide = canvas.WidthMm(limit.label, style) + 0.4 * size_mm;
    canvas.Draw(Rectangle({at.x_mm - wide + 0.2 * size_mm, at.y_mm - 0.75 * size_mm}, wide, 0.95 * size_mm), nullptr,
                Fill::kWhite);
    canvas.Text(at, limit.label, style);
  }
  double key = left;
  for (const Plot::Series& series : plot.series) {
    std::vector<Point> line;
    for (const auto& [x, y] : series.points) {
      if (x_scale.Shows(x) && y_scale.Shows(y)) line.push_back({x_of(x), y_of(y)});
    }
    const Stroke stroke{0.35, series.dashes_mm, 1};
    if (series.line && line.size() > 1) canvas.Draw(Polyline(line), &stroke, Fill::kNone);
    const Stroke mark{0.25, {}, 1};
    const double radius_mm = 0.28 * size_mm;
    const auto draw_mark = [&](Point at) {
      if (series.mark != Plot::Mark::kCross) {
        canvas.Draw(Circle(at, radius_mm), &mark, series.mark == Plot::Mark::kRing ? Fill::kWhite : Fill::kBlack);
        return;
      }
      for (const double degrees : {45.0, 135.0}) {
        canvas.Draw(Polyline({Polar(at, radius_mm, degrees), Polar(at, -radius_mm, degrees)}), &mark, Fill::kNone);
      }
    };
    const bool marked = series.mark != Plot::Mark::kNone;
    if (marked) std::for_each(line.begin(), line.end(), draw_mark);
    if (series.label.empty()) continue;
    const double y = top - 0.7 * size_mm;
    if (series.line)
      canvas.Draw(Polyline({{key, y - 0.3 * size_mm}, {key + 5, y - 0.3 * size_mm}}), &stroke, Fill::kNone);
    if (marked) draw_mark({key + 2.5, y - 0.3 * size_mm});
    canvas.Text({key + 6, y}, series.label, small);
    key += 6 + canvas.WidthMm(series.label, small) + 2 * size_mm;
  }
}

}  // namespace coilwright::sheet
