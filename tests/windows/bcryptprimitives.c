/* Wine before 9 has no bcryptprimitives.dll, which Rust's standard library takes random numbers from. This stands in for
   it under wine; Windows has its own. */
#include <windows.h>

BOOLEAN NTAPI SystemFunction036(PVOID buffer, ULONG length); /* advapi32 */

__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE buffer, SIZE_T length) {
    for (; length > 0xFFFFFFFFu; buffer += 0xFFFFFFFFu, length -= 0xFFFFFFFFu)
        if (!SystemFunction036(buffer, 0xFFFFFFFFu)) return FALSE;
    return SystemFunction036(buffer, (ULONG)length);
}
