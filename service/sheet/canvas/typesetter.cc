#include "sheet/canvas/typesetter.h"

#include <pango/pangofc-fontmap.h>

namespace coilwright::sheet {

Typesetter::Typesetter(const Fonts& fonts) {
  font_map_.reset(pango_cairo_font_map_new_for_font_type(CAIRO_FONT_TYPE_FT));
  pango_fc_font_map_set_config(PANGO_FC_FONT_MAP(font_map_.get()), fonts.config());
  context_.reset(pango_font_map_create_context(font_map_.get()));
  cairo_font_options_t* const options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  pango_cairo_context_set_font_options(context_.get(), options);
  cairo_font_options_destroy(options);
  pango_context_set_round_glyph_positions(context_.get(), FALSE);
  pango_context_set_language(context_.get(), pango_language_from_string("en"));
  pango_context_set_base_dir(context_.get(), PANGO_DIRECTION_LTR);
}

Shared<PangoLayout> Typesetter::Set(const std::string& text, const TextStyle& style) {
  Shared<PangoLayout> layout(pango_layout_new(context_.get()));
  PangoFontDescription* const font = pango_font_description_new();
  pango_font_description_set_family_static(font, kFamily);
  pango_font_description_set_weight(font, style.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(font, style.size_mm * kUnitsPerMm * PANGO_SCALE);
  pango_layout_set_font_description(layout.get(), font);
  pango_font_description_free(font);
  pango_layout_set_auto_dir(layout.get(), FALSE);
  pango_layout_set_single_paragraph_mode(layout.get(), TRUE);
  pango_layout_set_text(layout.get(), text.data(), static_cast<int>(text.size()));
  return layout;
}

double Typesetter::WidthMm(PangoLayout* layout) {
  PangoRectangle logical;
  pango_layout_line_get_extents(pango_layout_get_line_readonly(layout, 0), nullptr, &logical);
  return logical.width / (PANGO_SCALE * kUnitsPerMm);
}

}  // namespace coilwright::sheet
