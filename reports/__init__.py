"""What people see, and the command line: each step may only look back at the ones before.

numbers, likely, words                              rounding and units; which causes are told; sentences
views                                               records of finished values
charts, templates                                   drawings and pages of views
html, pdf, text, check_text                         a view as a page or as text
document, proof_document, sheet                     a result for programs and spreadsheets
scan_files, compare_files, digest_files, write      all files of a report, whole or not at all
cli                                                 parse, call, print, exit
"""
