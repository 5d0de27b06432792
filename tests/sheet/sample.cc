#include "sheet/sample.h"

namespace coilwright::sheet {

const std::vector<std::string>& OddTexts() {
  static const auto& texts = *new std::vector<std::string>{
      "a <b> & \"c\" 'd' ]]> <!--",
      "\u05E2\u05D1\u05E8\u05D9\u05EA (\u05D0) 12.5",       // Hebrew
      "\u0633\u0644\u0627\u0645 \u0627\u0644\u0645\u0644",  // Arabic
      "e\u0301 a\u0308 q\u0303\u0323",                      // combining marks
      "\U0001F600 \U0001F9F2 \u6C49 \u200D",                // emoji, in part without a glyph; Chinese; joiner
      "over \u202E\u2067 ride",
      std::string("nul\0x", 5),
      "tab\tline\nfeed\rbell\a \u0085 \u2028 \x7F",
      "\xFF\xFE \xC3 \xC0\x80 \xED\xA0\x80 \xF4\x90\x80\x80 \xE2\x82",
      "\uFFFE \uFFFF \U0001FFFE \uFFFD",
      "",
      " ",
  };
  return texts;
}

absl::StatusOr<std::vector<std::string>> DrawSample(Format format) {
  absl::StatusOr<std::unique_ptr<Canvas>> canvas = NewCanvas(format, "Sample <of> everything & \u00DCber");
  if (!canvas.ok()) return canvas.status();
  Canvas& page = **canvas;
  page.BeginPage(SizeOf(Paper::kA4, false));
  const Stroke line;
  double x_mm = 20;
  for (const Fill fill : {Fill::kNone, Fill::kWhite, Fill::kLightGrey, Fill::kDarkGrey, Fill::kBlack, Fill::kHatched,
                          Fill::kCrossHatched, Fill::kDotted}) {
    page.Draw(Circle({x_mm, 30}, 8), &line, fill);
    page.Draw(Rectangle({x_mm - 8, 45}, 16, 10), nullptr, fill);
    x_mm += 22;
  }
  const Stroke dashed{0.35, {3, 1, 0.5, 1}, 0.6};
  page.Draw(Path().Move({20, 70}).Curve({40, 60}, {60, 80}, {80, 70}).Arc({90, 70}, 10, 180, 500), &dashed,
            Fill::kNone);
  double y_mm = 100;
  for (const std::string& text : OddTexts()) {
    page.Text({20, y_mm}, text, {3, false, Anchor::kStart, 0, 1});
    page.Text({190, y_mm}, text, {3, true, Anchor::kEnd, 0, 0.7});
    y_mm += 6;
  }
  page.BeginPage(SizeOf(Paper::kLetter, true));
  page.Text({140, 100}, "Resistance 0.7690 \u03A9 at 20 \u00B0C, 3 \u00D7 0.80 mm\u00B2",
            {4, true, Anchor::kMiddle, -90, 1});
  page.Text({20, 20}, "Slots 1 to 36", {2.5, false, Anchor::kStart, 0, 1});
  return page.Finish();
}

}  // namespace coilwright::sheet
