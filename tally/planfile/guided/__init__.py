"""The guided plan: what is asked, in the order in which a driller knows it, and the plan file that the answers make."""
