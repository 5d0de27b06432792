#include "layout_print.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "page.h"
#include "request.h"
#include "rules_print.h"
#include "text.h"
#include "words.h"

namespace coilwright::cli {
namespace {

using Align = Table::Align;

constexpr double kNoFactor = 5e-7;
constexpr size_t kMostWaves = 16;

std::string Letter(v1::Phase phase) { return absl::AsciiStrToUpper(EnumText(phase)); }

std::string CoilText(const v1::LaidCoil& coil) { return absl::StrCat(coil.go_slot(), "-", coil.return_slot()); }

std::string Degrees(double degrees) { return Fixed(degrees, 2); }

void PrintHead(const v1::DescribeLayoutResponse& answer, Page* page) {
  const v1::LayoutPattern& layout = answer.layout();
  const bool traced = layout.coil_form() == v1::COIL_FORM_UNSPECIFIED;
  const int pitch = layout.coil_pitch_slots();
  page->Title(
      absl::StrCat("layout: ", layout.slots(), " slots, ", layout.poles(), " poles, ",
                   layout.layers() == v1::LAYERS_DOUBLE ? "two layers" : "one layer", ", ",
                   traced ? "coils as traced" : EnumText(layout.coil_form()),
                   layout.has_coil_pitch_slots() ? absl::StrCat(", pitch ", pitch, " (throw 1-", pitch + 1, ")") : ""));
  page->Facts(
      {{"slots",
        absl::StrCat("1 is the slot marked against the lead exit; clockwise seen from the connection end (",
                     layout.connection_end() == v1::MACHINE_END_DRIVE ? "shaft end" : "opposite the shaft", ")")},
       {"coils", "start in the first slot named, finish in the second; current + goes away from that end"}});
}

void PrintUnbalanced(const v1::DescribeLayoutResponse& answer, Page* page) {
  page->Heading("No balanced winding");
  page->Paragraph(answer.reason());
  if (!answer.has_neighbours()) return;
  page->Blank();
  const auto list = [](const google::protobuf::RepeatedField<int>& values, const char* none) {
    return values.empty() ? std::string(none) : absl::StrJoin(values, " or ");
  };
  const v1::BalancedNeighbours& near = answer.neighbours();
  page->Facts(
      {{absl::StrCat("slots that balance with ", answer.layout().poles(), " poles"), list(near.slots(), "none")},
       {absl::StrCat("poles that balance in ", answer.layout().slots(), " slots"), list(near.poles(), "none")},
       {"pitches that balance in both", list(near.coil_pitch_slots(), "none")}});
}

void PrintCoils(const v1::DescribeLayoutResponse& answer, Page* page) {
  page->Heading("Coils, by groups round the bore");
  Table table({{"group", Align::kRight}, {"phase", {}}, {"connected", {}}, {"coils", {}}});
  for (const v1::LaidGroup& group : answer.groups()) {
    std::vector<std::string> coils;
    for (const int coil : group.coils()) coils.push_back(CoilText(answer.coils(coil)));
    table.Add({absl::StrCat(group.number()), Letter(group.phase()), group.reversed() ? "reversed" : "forward",
               absl::StrJoin(coils, ", ")});
  }
  page->Add(table);
}

// "start of group 4 (coil 10-15, slot 10)" for an end at the edge of a group: a slot of two layers holds two sides.
std::string EndText(const v1::DescribeLayoutResponse& answer, const v1::LaidCoilEnd& end) {
  const v1::LaidCoil& coil = answer.coils(end.coil());
  return absl::StrCat(end.finish() ? "end" : "start", " of group ", coil.group(), " (coil ", CoilText(coil), ", slot ",
                      end.slot(), ")");
}

// A row a joint where two ends fit beside each other, else a row an end, so that each can be ticked off.
void AddJoint(const v1::DescribeLayoutResponse& answer, const v1::LaidJoint& joint, const std::string& what,
              Table* table) {
  constexpr int kColumnsBefore = 22;
  std::vector<std::string> ends;
  for (const v1::LaidCoilEnd& end : joint.ends()) ends.push_back(EndText(answer, end));
  const std::string together = absl::StrJoin(ends, " + ");
  if (ends.size() <= 2 && Width(together) <= PageWidth() - kColumnsBefore) ends = {together};
  for (size_t i = 0; i < ends.size(); ++i) {
    const std::string more = i + 1 < ends.size() ? " +" : "";
    table->Add({i == 0 ? absl::StrCat(joint.number()) : "", i == 0 ? what : "", ends[i] + more});
  }
}

// "lead U"; of six leads "lead U1", or "lead U2" for the second.
std::string LeadText(const v1::DescribeLayoutResponse& answer, v1::Phase phase, bool second = false) {
  const bool six = answer.connections().connection() == v1::CONNECTION_OPEN;
  return absl::StrCat("lead ", Letter(phase), !six ? "" : second ? "2" : "1");
}

std::string PathText(const v1::DescribeLayoutResponse& answer, const v1::LaidCircuit& circuit) {
  std::vector<std::string> steps = {LeadText(answer, circuit.phase())};
  for (const v1::GroupPass& pass : circuit.passes()) {
    steps.push_back(absl::StrCat(pass.group(), pass.reversed() ? " reversed" : ""));
  }
  const auto next = static_cast<v1::Phase>(circuit.phase() % 3 + 1);
  const v1::Connection connection = answer.connections().connection();
  steps.push_back(connection == v1::CONNECTION_STAR    ? "star point"
                  : connection == v1::CONNECTION_DELTA ? LeadText(answer, next)
                                                       : LeadText(answer, circuit.phase(), true));
  return absl::StrJoin(steps, " > ");
}

void PrintConnections(const v1::DescribeLayoutResponse& answer, Page* page) {
  const v1::ConnectionList& list = answer.connections();
  page->Heading(absl::StrCat("Connections: ", ConnectionWords(list.connection(), list.parallel_circuits()),
                             " a phase (permitted: ", absl::StrJoin(answer.permitted_circuits(), ", "), ")"));
  Table paths({{"phase", {}}, {"circuit", Align::kRight}, {"groups in series", {}}});
  for (const v1::LaidCircuit& circuit : list.circuits()) {
    paths.Add({Letter(circuit.phase()), absl::StrCat(circuit.number()), PathText(answer, circuit)});
  }
  page->Add(paths);
  page->Blank();
  int within = 0;
  Table joints({{"joint", Align::kRight}, {"", {}}, {"ties", {}}});
  for (const v1::LaidJoint& joint : list.joints()) {
    if (joint.kind() == v1::JOINT_KIND_WITHIN_GROUP) {
      ++within;
      continue;
    }
    const v1::Phase phase = joint.ends().empty() ? joint.lead() : answer.coils(joint.ends(0).coil()).phase();
    AddJoint(answer, joint,
             joint.kind() == v1::JOINT_KIND_LEAD         ? LeadText(answer, joint.lead())
             : joint.kind() == v1::JOINT_KIND_END_LEAD   ? LeadText(answer, joint.lead(), true)
             : joint.kind() == v1::JOINT_KIND_STAR_POINT ? "star point"
                                                         : absl::StrCat("jumper ", Letter(phase)),
             &joints);
  }
  page->Add(joints);
  page->Blank();
  if (within > 0) {
    page->Paragraph(absl::StrCat("Within every group the finish of each coil goes to the start of the next (", within,
                                 " joints, numbered between these), unless the group is wound in one length."));
  }
  if (list.traced_sound()) {
    page->Paragraph(absl::StrCat("Followed joint by joint: every coil once, no end loose, ",
                                 list.circuits(0).series_coils(), " coils in series, emf ",
                                 Fixed(list.circuits(0).emf_ratio(), 6),
                                 " of full pitch in every circuit, phases 120 degrees apart."));
  }
}

void PrintSlots(const v1::DescribeLayoutResponse& answer, Page* page) {
  page->Heading("Slots");
  const int slots = answer.slots_size();
  struct Row {
    v1::SidePosition position;
    int of_these;  // which of the sides in that position
    const char* name;
  };
  const auto side = [&](int slot, const Row& row) -> std::string {
    int before = row.of_these;
    for (const v1::LaidSide& laid : answer.slots(slot).sides()) {
      if (laid.position() == row.position && before-- == 0)
        return absl::StrCat(Letter(laid.phase()), laid.away_from_connection_end() ? "+" : "-");
    }
    return "";
  };
  const std::vector<Row> rows = {{v1::SIDE_POSITION_ONLY, 0, "side"},
                                 {v1::SIDE_POSITION_TOP, 0, "top"},
                                 {v1::SIDE_POSITION_BOTTOM, 0, "bottom"},
                                 {v1::SIDE_POSITION_TOWARDS_PREVIOUS_SLOT, 0, "to the slot before"},
                                 {v1::SIDE_POSITION_TOWARDS_NEXT_SLOT, 0, "to the slot after"},
                                 {v1::SIDE_POSITION_UNSPECIFIED, 0, "one side"},
                                 {v1::SIDE_POSITION_UNSPECIFIED, 1, "other side"}};
  // A whole number of sixes, as pole-phase groups are read in threes and sixes.
  constexpr int kColumnsBefore = 22;
  const int in_a_row = std::max(6, (PageWidth() - kColumnsBefore) / (slots < 100 ? 4 : 5) / 6 * 6);
  for (int first = 0; first < slots; first += in_a_row) {
    const int last = std::min(slots, first + in_a_row);
    std::vector<Table::Column> columns = {{"slot", {}}};
    for (int slot = first; slot < last; ++slot) columns.push_back({absl::StrCat(slot + 1), Align::kRight});
    Table table(columns);
    for (const Row& row : rows) {
      std::vector<std::string> cells = {row.name};
      bool any = false;
      for (int slot = first; slot < last; ++slot) {
        cells.push_back(side(slot, row));
        any = any || !cells.back().empty();
      }
      if (any) table.Add(cells);
    }
    if (first > 0) page->Blank();
    page->Add(table);
  }
}

std::string Clockwise(bool clockwise) { return clockwise ? "clockwise" : "counter-clockwise"; }

void PrintAxes(const v1::DescribeLayoutResponse& answer, Page* page) {
  page->Heading("Axes, from the centre line of slot 1");
  const bool delta = answer.connections().connection() == v1::CONNECTION_DELTA;
  std::vector<Table::Column> columns = {
      {"lead", {}}, {"electrical degrees", Align::kPoint}, {"mechanical degrees", Align::kPoint}};
  if (delta) columns.push_back({"coils alone, electrical degrees", Align::kPoint});
  Table table(columns);
  for (const v1::MagneticAxis& axis : answer.axes()) {
    std::vector<std::string> cells = {Letter(axis.phase()), Degrees(axis.electrical_degrees()),
                                      Degrees(axis.mechanical_degrees())};
    if (delta) cells.push_back(Degrees(axis.coils_electrical_degrees()));
    table.Add(cells);
  }
  page->Add(table);
  page->Blank();
  page->Facts(
      {{"axis", absl::StrCat("clockwise seen from the connection end, where current into the lead, out of the other "
                             "two, gives peak flux towards the rotor; again every ",
                             Figures(720.0 / answer.layout().poles(), 5), " mechanical degrees")},
       {"U-V-W turns",
        absl::StrCat(Clockwise(answer.rotation().clockwise_from_drive_end()), " facing the shaft end, ",
                     Clockwise(answer.rotation().clockwise_from_connection_end()), " seen from the connection end")}});
}

void PrintWaves(const v1::DescribeLayoutResponse& answer, Page* page) {
  std::vector<const v1::FieldWave*> waves;
  for (const v1::FieldWave& wave : answer.waves()) waves.push_back(&wave);
  const size_t found = waves.size();
  std::stable_sort(waves.begin(), waves.end(), [](const v1::FieldWave* a, const v1::FieldWave* b) {
    return a->amplitude_ratio() > b->amplitude_ratio();
  });
  waves.resize(std::min(found, kMostWaves));
  std::stable_sort(waves.begin(), waves.end(),
                   [](const v1::FieldWave* a, const v1::FieldWave* b) { return a->order() < b->order(); });
  page->Heading(found > waves.size()
                    ? absl::StrCat("Waves of the field, the ", waves.size(), " largest of ", found, " worked out")
                    : "Waves of the field");
  Table table({{"pole pairs", Align::kRight},
               {"runs", {}},
               {"of working wave", Align::kPoint},
               {"speed", Align::kPoint},
               {"", {}}});
  const int pole_pairs = answer.layout().poles() / 2;
  for (const v1::FieldWave* wave : waves) {
    table.Add({absl::StrCat(wave->order()), wave->forward() ? "forward" : "backward", Fixed(wave->amplitude_ratio(), 4),
               Fixed(wave->speed_ratio(), 4),
               wave->order() == pole_pairs  ? "working wave"
               : wave->order() < pole_pairs ? "sub-harmonic"
                                            : ""});
  }
  page->Add(table);
}

void PrintFactors(const v1::DescribeLayoutResponse& answer, Page* page) {
  page->Heading("Winding factors");
  Table table({{"harmonic", Align::kRight}, {"factor", Align::kPoint}});
  for (const v1::HarmonicFactor& factor : answer.factors()) {
    if (std::abs(factor.winding_factor()) < kNoFactor) continue;
    table.Add({absl::StrCat(factor.harmonic()), Fixed(factor.winding_factor(), 6)});
  }
  page->Add(table);
}

void PrintRepeats(const v1::DescribeLayoutResponse& answer, Page* page) {
  const int whole = answer.slots_per_pole_phase_numerator(), parts = answer.slots_per_pole_phase_denominator();
  page->Heading("Repeats and side effects");
  page->Facts(
      {{"slots per pole and phase", parts == 1 ? absl::StrCat(whole) : absl::StrCat(whole, "/", parts)},
       {"layout repeats",
        absl::StrCat(answer.periods_per_rev() == 1 ? "once" : absl::StrCat(answer.periods_per_rev(), " times"),
                     " a turn, ", answer.alternating_periods_per_rev(), " counting reversed sections")},
       {"cogging", absl::StrCat(answer.cogging_periods_per_rev(), " periods a turn; a rewind does not change it")},
       {"radial pull", answer.radial_pull_balanced()
                           ? absl::StrCat("balanced; radial forces in orders of ", answer.radial_pull_order())
                           : "one-sided under load"},
       {"differential leakage", Fixed(answer.differential_leakage_ratio(), 4)}});
}

}  // namespace

std::string PrintLayout(const v1::DescribeLayoutResponse& answer) {
  Page page;
  PrintHead(answer, &page);
  if (answer.balanced()) {
    PrintCoils(answer, &page);
    PrintConnections(answer, &page);
    PrintSlots(answer, &page);
    PrintAxes(answer, &page);
    PrintFactors(answer, &page);
    PrintWaves(answer, &page);
    PrintRepeats(answer, &page);
  } else {
    PrintUnbalanced(answer, &page);
  }
  std::set<std::string> rules;
  CollectRules(answer.rule_uses(), &rules);
  PrintEnd({}, answer.notes(), {}, rules, answer.data_revision(), &page);
  return page.text();
}

std::string PrintComparison(const v1::CompareLayoutsResponse& answer) {
  Page page;
  page.Title("layouts compared");
  std::string change, axes;
  if (answer.has_transform()) {
    const v1::LayoutTransform& t = answer.transform();
    std::vector<std::string> parts;
    if (t.mirrored()) parts.push_back("mirrored");
    if (t.turned_slots() != 0) {
      parts.push_back(
          absl::StrCat("turned ", t.turned_slots(), t.turned_slots() == 1 ? " slot" : " slots", " clockwise"));
    }
    for (int phase = 0; phase < t.phases_size(); ++phase) {
      const v1::Phase from = static_cast<v1::Phase>(phase + 1), to = t.phases(phase);
      if (to != from || t.reversed(phase)) {
        parts.push_back(absl::StrCat(Letter(from), " becomes ", Letter(to), t.reversed(phase) ? " reversed" : ""));
      }
    }
    change = parts.empty() ? "nothing changes" : absl::StrJoin(parts, ", ");
  }
  for (int phase = 0; phase < answer.axis_shift_electrical_degrees_size(); ++phase) {
    absl::StrAppend(&axes, phase > 0 ? ", " : "", Letter(static_cast<v1::Phase>(phase + 1)), " by ",
                    Figures(answer.axis_shift_electrical_degrees(phase)));
  }
  page.Facts({{"electrically", answer.electrically_equivalent() ? "equivalent" : "not equivalent"},
              {"under the same drive", answer.drop_in() ? "drop-in" : "not a drop-in"},
              {"coils", !answer.electrically_equivalent() ? ""
                        : answer.same_coils()             ? "the same"
                                                          : "not the same"},
              {"first to second", change},
              {"axes move", axes.empty() ? "" : absl::StrCat(axes, " electrical degrees")},
              {"U-V-W turns", axes.empty()             ? ""
                              : answer.same_rotation() ? "the same way"
                                                       : "the other way"},
              {"turns a coil", answer.has_turns_ratio()
                                   ? absl::StrCat(Figures(answer.turns_ratio()), " in the second for 1 in the first")
                                   : ""}});
  if (!answer.differences().empty()) {
    page.Heading("Differences");
    page.List(answer.differences());
  }
  PrintRuleUses(answer.rule_uses(), answer.data_revision(), &page);
  return page.text();
}

}  // namespace coilwright::cli
