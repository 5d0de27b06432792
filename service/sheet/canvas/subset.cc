#include "sheet/canvas/subset.h"

#include <glib.h>
#include <hb-subset.h>

#include <memory>

#include "absl/status/status.h"

namespace coilwright::sheet {

absl::StatusOr<std::string> Subset(hb_face_t* face, const std::string& characters) {
  const auto failed = [] { return absl::ResourceExhaustedError("no memory for the font of a document"); };
  const std::unique_ptr<hb_subset_input_t, void (*)(hb_subset_input_t*)> input(hb_subset_input_create_or_fail(),
                                                                               hb_subset_input_destroy);
  if (input == nullptr) return failed();
  hb_set_t* const wanted = hb_subset_input_unicode_set(input.get());
  for (const char* at = characters.data(); at < characters.data() + characters.size(); at = g_utf8_next_char(at)) {
    const gunichar character = g_utf8_get_char(at);
    hb_set_add(wanted, character);
    // A bracket in text that runs to the left is drawn as the other one.
    gunichar mirrored = 0;
    if (g_unichar_get_mirror_char(character, &mirrored)) hb_set_add(wanted, mirrored);
  }
  hb_subset_input_set_flags(input.get(), HB_SUBSET_FLAGS_NO_HINTING);
  const std::unique_ptr<hb_face_t, void (*)(hb_face_t*)> subset(hb_subset_or_fail(face, input.get()), hb_face_destroy);
  if (subset == nullptr) return failed();
  const std::unique_ptr<hb_blob_t, void (*)(hb_blob_t*)> blob(hb_face_reference_blob(subset.get()), hb_blob_destroy);
  unsigned int length = 0;
  const char* const bytes = hb_blob_get_data(blob.get(), &length);
  if (length == 0) return failed();
  return std::string(bytes, length);
}

}  // namespace coilwright::sheet
