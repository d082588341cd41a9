// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The parts of the report's page as they lie beside this file, without their
/// comments, as embed.c puts them into the program

#ifndef PRESETS_DEMO_SESSION_REPORT_PAGE_H
#define PRESETS_DEMO_SESSION_REPORT_PAGE_H

/// Holds {{title}}, {{style}}, {{report}} and {{sound}} in their places
extern const char page_html[];

extern const char page_css[];

/// Holds {{loudness}}, {{excerpts}} and {{things}}
extern const char listen_html[];

// The script, in this order
extern const char player_js[];
extern const char blind_js[];
extern const char page_js[];

#endif // PRESETS_DEMO_SESSION_REPORT_PAGE_H
