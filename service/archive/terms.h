#pragma once

#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "archive/entry.h"
#include "archive/facts.h"
#include "archive/find.h"

namespace coilwright::archive {

// Everything a resource is found by becomes one set of terms, and every question one expression over terms, so that
// both stores answer from one full-text index and find the same. A term is "{w or j}.{what}={value}": windings and jobs
// have terms of their own. In the value stand small letters, digits, "/", "-", "_" and characters beyond ASCII, never a
// blank or quote.
//
//   w.t=pump                     a whole word            w.1=p  w.2=pu  w.3=pum    how it begins
//   w.ve=524000 w.vf=69 w.vc=8   a number by its first four digits ("52": hundreds), and by its step on a logarithmic
//   scale,
//                                eighths of a doubling and whole ones
//   w.sf=36  w.sc=5              a count itself, and the doubling it lies in
//   w.k=2                        a number of an enum     j.u=windings/a-1          a name
//
// A range becomes the steps within it, and at its ends, where many machines may stand just outside (0.37 kW for "up to
// 0.36"), the digits that are in the store. It may still find a little more than asked: columns decide. Pure.

// Words as they are compared: case folded, compatibility forms and ligatures taken apart, accents and other marks taken
// off (Unicode, by utf8proc). Letters and digits make words, everything else parts them, bytes that are no UTF-8 too.
// In the order they stand, each cut at 48 bytes; repeats are kept.
std::vector<std::string> Words(absl::string_view text);

// Of a resource, separated by blanks, each once, in order; empty for readings, which are found by their job. Of a text
// its first 4096 words.
std::string TermsOf(Kind kind, const Facts& facts);
// Those of them that a store must be able to list: whole words, and numbers by their digits.
std::vector<std::string> ListedTerms(absl::string_view terms);

struct Term {
  std::string text;
  bool beginning = false;   // all terms that begin so
  std::string first, last;  // where given: the terms from one to the other; `text` stands for all of them and some more
};

// Every outer one must hold; of an inner one any. Empty: everything fits. An empty inner one: nothing does.
using TermQuery = std::vector<std::vector<Term>>;

TermQuery TermsFor(const Query& query);

// `query` must have no empty part.
std::string Fts5Text(const TermQuery& query);
std::string TsQueryText(const TermQuery& query);

}  // namespace coilwright::archive
