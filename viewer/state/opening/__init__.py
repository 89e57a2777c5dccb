"""A site from start to results, by this process or shared out to several."""
