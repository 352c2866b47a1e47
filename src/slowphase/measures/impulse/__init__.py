"""Head impulses: found in the head's velocity, judged one by one, and measured canal by canal."""
