"""Results to documents, workbooks, tables and figures, without Qt."""
