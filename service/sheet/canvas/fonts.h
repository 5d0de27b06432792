#pragma once

#include <fontconfig/fontconfig.h>
#include <hb.h>

#include <string>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"

namespace coilwright::sheet {

inline constexpr char kFamily[] = "DejaVu Sans";

// The one family that is drawn with, upright and bold, and nothing else that a machine may have: a document is the same
// on every machine with the package. It is found once and kept; safe from any thread.
class Fonts {
 public:
  // UNAVAILABLE where the family is not installed; it is looked for again by the next call.
  static absl::StatusOr<const Fonts*> Get();

  // Knows the two files alone, and no rule that would put another font in their place.
  FcConfig* config() const { return config_; }
  hb_face_t* face(bool bold) const { return faces_[bold]; }

  // `text` as it can be drawn in one line and written into XML: what is no UTF-8, a control character, an override of
  // the writing direction or without a glyph becomes U+FFFD, and what no page could hold is cut off with an ellipsis.
  // A character that has only no glyph is added to `lacking`, where that is given, once and while it is short.
  std::string Drawable(absl::string_view text, bool bold, std::vector<std::string>* lacking = nullptr) const;

 private:
  Fonts() = default;
  absl::Status Find();

  FcConfig* config_ = nullptr;
  hb_face_t* faces_[2] = {};
  hb_set_t* characters_[2] = {};  // with a glyph
};

}  // namespace coilwright::sheet
