#include "insulation/megohm.h"
