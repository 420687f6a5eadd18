"""Writers: one document, many formats. They are total over the document and do no arithmetic."""
