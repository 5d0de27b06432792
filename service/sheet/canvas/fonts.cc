#include "sheet/canvas/fonts.h"

#include <glib.h>

#include <algorithm>
#include <memory>

#include "absl/base/thread_annotations.h"
#include "absl/status/status.h"
#include "absl/strings/str_cat.h"
#include "absl/synchronization/mutex.h"

namespace coilwright::sheet {
namespace {

// At the least size in use no page is wide enough for more.
constexpr int kMostCharacters = 1000;
constexpr size_t kMostLacking = 20;

absl::Status NoFont() {
  return absl::UnavailableError(absl::StrCat("documents are set in ", kFamily,
                                             ", upright and bold, which fontconfig does not find; install "
                                             "Debian's package fonts-dejavu-core"));
}

template <auto kFree>
struct Free {
  template <typename T>
  void operator()(T* object) const {
    kFree(object);
  }
};
using Config = std::unique_ptr<FcConfig, Free<FcConfigDestroy>>;
using FontPattern = std::unique_ptr<FcPattern, Free<FcPatternDestroy>>;
using ObjectSet = std::unique_ptr<FcObjectSet, Free<FcObjectSetDestroy>>;
using FontSet = std::unique_ptr<FcFontSet, Free<FcFontSetDestroy>>;

// The file of one weight; the first by its name where there are several, empty where there is none.
std::string FileOf(FcConfig* installed, int weight) {
  const FontPattern wanted(FcPatternBuild(nullptr, FC_FAMILY, FcTypeString, kFamily, FC_WEIGHT, FcTypeInteger, weight,
                                          FC_SLANT, FcTypeInteger, FC_SLANT_ROMAN, FC_WIDTH, FcTypeInteger,
                                          FC_WIDTH_NORMAL, static_cast<char*>(nullptr)));
  const ObjectSet asked(FcObjectSetBuild(FC_FILE, static_cast<char*>(nullptr)));
  const FontSet found(FcFontList(installed, wanted.get(), asked.get()));
  std::string first;
  for (int i = 0; found != nullptr && i < found->nfont; ++i) {
    FcChar8* file = nullptr;
    if (FcPatternGetString(found->fonts[i], FC_FILE, 0, &file) != FcResultMatch) continue;
    const std::string name = reinterpret_cast<const char*>(file);
    if (first.empty() || name < first) first = name;
  }
  return first;
}

// Whether a character can stand in a line: it is none that XML knows not, moves the line, or turns its direction.
bool IsPlain(gunichar character) {
  if (g_unichar_iscntrl(character) || character == 0x2028 || character == 0x2029) return false;
  if ((character >= 0x202A && character <= 0x202E) || (character >= 0x2066 && character <= 0x2069)) return false;
  return (character & 0xFFFE) != 0xFFFE;
}

}  // namespace

absl::Status Fonts::Find() {
  const Config installed(FcInitLoadConfigAndFonts());
  if (installed == nullptr) return NoFont();
  Config own(FcConfigCreate());
  hb_face_t* faces[2] = {};
  const int weights[2] = {FC_WEIGHT_REGULAR, FC_WEIGHT_BOLD};
  for (int bold = 0; bold < 2; ++bold) {
    const std::string file = FileOf(installed.get(), weights[bold]);
    if (file.empty() || !FcConfigAppFontAddFile(own.get(), reinterpret_cast<const FcChar8*>(file.c_str()))) {
      return NoFont();
    }
    const std::unique_ptr<hb_blob_t, Free<hb_blob_destroy>> bytes(hb_blob_create_from_file_or_fail(file.c_str()));
    if (bytes == nullptr) return NoFont();
    faces[bold] = hb_face_create(bytes.get(), 0);
    hb_face_make_immutable(faces[bold]);
    characters_[bold] = hb_set_create();
    hb_face_collect_unicodes(faces[bold], characters_[bold]);
  }
  config_ = own.release();
  faces_[0] = faces[0];
  faces_[1] = faces[1];
  return absl::OkStatus();
}

absl::StatusOr<const Fonts*> Fonts::Get() {
  static absl::Mutex mutex(absl::kConstInit);
  static const Fonts* fonts = nullptr;
  absl::MutexLock lock(&mutex);
  if (fonts == nullptr) {
    auto found = std::unique_ptr<Fonts>(new Fonts);
    if (absl::Status status = found->Find(); !status.ok()) return status;
    fonts = found.release();
  }
  return fonts;
}

std::string Fonts::Drawable(absl::string_view text, bool bold, std::vector<std::string>* lacking) const {
  std::string drawable;
  const char* const end = text.data() + text.size();
  int characters = 0;
  for (const char* at = text.data(); at < end; ++characters) {
    if (characters == kMostCharacters) {
      drawable.append("\u2026");
      break;
    }
    // NUL is valid UTF-8, but the function takes it for the end.
    const gunichar character = *at == '\0' ? 0 : g_utf8_get_char_validated(at, end - at);
    const bool valid = character != static_cast<gunichar>(-1) && character != static_cast<gunichar>(-2);
    const int length = valid && character != 0 ? g_utf8_skip[static_cast<unsigned char>(*at)] : 1;
    if (valid && IsPlain(character) && hb_set_has(characters_[bold], character)) {
      drawable.append(at, static_cast<size_t>(length));
    } else {
      drawable.append("\uFFFD");
      const std::string given(at, static_cast<size_t>(length));
      if (lacking != nullptr && valid && IsPlain(character) && lacking->size() < kMostLacking &&
          std::find(lacking->begin(), lacking->end(), given) == lacking->end())
        lacking->push_back(given);
    }
    at += length;
  }
  return drawable;
}

}  // namespace coilwright::sheet
