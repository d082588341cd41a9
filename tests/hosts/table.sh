#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# table.sh OUT_FOLDER HOST...: prints what run.sh measured, as a Markdown table
set -euo pipefail
folder=$1
shift
files=("${@/#/$folder/}")
awk '
  FNR == 1 {
    host[++n_hosts] = FILENAME
    sub(/.*\//, "", host[n_hosts])
    sub(/\.results$/, "", host[n_hosts])
    version[n_hosts] = $2
    next
  }
  {
    if (!($1 in row)) { row[$1] = ++n_rows; uri[n_rows] = $1 }
    cell[$1, n_hosts] = $2
  }
  END {
    printf "| |"
    for (h = 1; h <= n_hosts; ++h) printf " %s %s |", host[h], version[h]
    printf "\n|---|"
    for (h = 1; h <= n_hosts; ++h) printf "---|"
    printf "\n"
    for (r = 1; r <= n_rows; ++r) {
      name = uri[r]
      sub(/^urn:dustcap:/, "", name)
      printf "| `%s` |", name
      for (h = 1; h <= n_hosts; ++h) {
        printf " %s |", (uri[r], h) in cell ? cell[uri[r], h] : version[h] == "skipped" ? "skipped" : "-"
      }
      printf "\n"
    }
  }' "${files[@]/%/.results}"
