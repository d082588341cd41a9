# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# awk -f sites.awk pass=1 FILE... pass=2 FILE...
# Every place where one small fault can be put into the C sources FILE, one a line:
# kind, file, line, the line as it is and as it would be, with tabs between.
#
# Left out is what would change nothing or not compile: comments, strings,
# assertions, the preprocessor's conditions, indices and sizes of tables (a macro
# that is one too), and the conditions of for loops, which every test would notice.
# A table of numbers counts as its first line.

BEGIN {
  NUMBER = "[0-9]+[.][0-9]*([eE][-+]?[0-9]+)?[fF]?|[0-9]+[eE][-+]?[0-9]+[fF]?|[0-9]+[uU]?"
  NAME   = "[A-Za-z_][A-Za-z0-9_.]*(->[A-Za-z0-9_.]+)*(\\[[^]]*\\])?"
  TERM   = " [-+] " NAME "( [*] " NAME ")*[;),]"
  turned["<"] = ">"; turned[">"] = "<"; turned["<="] = ">="; turned[">="] = "<="
  turned["=="] = "!="; turned["!="] = "=="
}

FNR == 1 { in_assert = in_table = 0 }

{
  code = $0
  sub(/\/\/.*$/, "", code)
}

# First time through: names that are the size of something
pass == 1 {
  while (match(code, /\[[^]]*[A-Z][A-Z0-9_]+[^]]*\]/)) {
    n = split(substr(code, RSTART, RLENGTH), words, /[^A-Z0-9_]+/)
    for (i = 1; i <= n; ++i) is_size[words[i]] = 1
    code = substr(code, RSTART + RLENGTH)
  }
  next
}

in_assert || code ~ /(^|[^a-z_])(assert|static_assert|_Static_assert)\(/ {
  in_assert = code !~ /;[ ]*$/
  next
}

code ~ /["']/ || code ~ /^#[ ]*(include|if|ifdef|ifndef|endif|else|elif|undef|pragma|error)/ { next }
code ~ /^#define/ && is_size[$2] { next }

# Nothing but numbers
code ~ /^[-+0-9.eEfFuU{}, ;]*$/ {
  if (!in_table) constants()
  in_table = code ~ /[0-9]/
  next
}

{
  in_table = 0
  constants()
  if (code !~ /^[ ]*for \(/ && code !~ /^#/) {
    terms()
    signs()
    comparisons()
    channels()
  }
}

# The line with `n` characters from `at` on replaced
function put(kind, at, n, new) {
  printf "%s\t%s\t%d\t%s\t%s\n", kind, FILENAME, FNR, $0, \
    substr($0, 1, at - 1) new substr($0, at + n)
}

function is_index(at,    before) {
  before = substr(code, 1, at - 1)
  return gsub(/\[/, "", before) > gsub(/\]/, "", before)
}

# 10 % more, in the same kind of number; small integers are mostly indices,
# numbers of channels, powers
function more(text,    suffix, value) {
  suffix = match(text, /[fFuU]$/) ? substr(text, RSTART) : ""
  sub(/[fFuU]$/, "", text)
  if (text !~ /[.eE]/) {
    return text + 0 < 10 ? "" : int(text * 1.1 + 0.5) suffix
  }
  if (text + 0 < 1e-9 || text + 0 > 1e9) return "" # Guards
  value = sprintf("%.10g", text * 1.1)
  return (value ~ /[.e]/ ? value : value ".0") suffix
}

function constants(    from, rest, text, at, end, new) {
  from = 1
  while (match(rest = substr(code, from), NUMBER)) {
    at   = from + RSTART - 1
    text = substr(rest, RSTART, RLENGTH)
    end  = at + RLENGTH
    if (substr(" " code, at, 1) !~ /[A-Za-z0-9_.]/ && substr(code, end, 1) !~ /[A-Za-z0-9_.]/ &&
        !is_index(at)) {
      new = more(text)
      if (new != "") put("constant", at, length(text), new)
    }
    from = end
  }
}

function terms(    from, at, n) {
  for (from = 1; match(substr(code, from), TERM); from = at + n) {
    at = from + RSTART - 1
    n  = RLENGTH - 1
    if (!is_index(at)) put("term", at, n, "")
  }
}

function signs(    from, at) {
  for (from = 1; match(substr(code, from), / [-+] [A-Za-z0-9_(]/); from = at + 2) {
    at = from + RSTART - 1
    if (!is_index(at)) put("sign", at + 1, 1, substr(code, at + 1, 1) == "+" ? "-" : "+")
  }
}

function comparisons(    from, at, n) {
  for (from = 1; match(substr(code, from), / (<|>|<=|>=|==|!=) /); from = at + n - 1) {
    at = from + RSTART - 1
    n  = RLENGTH
    put("comparison", at + 1, n - 2, turned[substr(code, at + 1, n - 2)])
  }
}

function channels(    from, at) {
  if (code !~ /=|\(|return|[+]=/) return # A declaration
  for (from = 1; match(substr(code, from), /[a-z_]\[[01]\]/); from = at + 4) {
    at = from + RSTART - 1
    put("channel", at + 2, 1, 1 - substr(code, at + 2, 1))
  }
}
