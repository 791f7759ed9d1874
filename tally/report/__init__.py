"""The paperwork: the view-model as a daily report."""
