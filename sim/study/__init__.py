"""Many runs held side by side: replications, intervals, comparisons and the answer in words."""
