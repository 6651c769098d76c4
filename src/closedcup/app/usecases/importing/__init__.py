"""Take in what others wrote down: samples, results, verifications, liquids, compositions.

    table_file  a CSV, workbook or JSON file as rows      fields    what can be filled, by kind
    mapping     which column fills which field, and how   cells     one cell as a value
    entries     a row as an entry of the records          run       each row's fate; then recording
    files       what both faces ask for                   watching  a folder that is looked into

The file is shown as it will be read before anything is written; the same row is never taken twice.
"""
