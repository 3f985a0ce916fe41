"""Sheets: a plan on paper. `compose.compose(plan)` gives plain content, `pdf.write(plan, folder)` the files."""
