// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The template of the report's page: page.html and page.css, without their
/// comments, as embed.c puts them into the program

#ifndef PRESETS_DEMO_SESSION_REPORT_PAGE_H
#define PRESETS_DEMO_SESSION_REPORT_PAGE_H

/// Holds {{title}}, {{style}} and {{report}} in their places
extern const char page_html[];

extern const char page_css[];

#endif // PRESETS_DEMO_SESSION_REPORT_PAGE_H
